-- Why: a workshop is the root of everything: each later table carries its id.
-- Here are the workshop and what it can do: hours, closed days, molds, racks.

-- +goose Up

-- +goose StatementBegin
CREATE FUNCTION ripeline_line(value text, shortest int, longest int) RETURNS boolean
    LANGUAGE sql IMMUTABLE STRICT PARALLEL SAFE
    RETURN char_length(value) BETWEEN shortest AND longest AND value !~ '[\u0001-\u001f\u007f]';
-- +goose StatementEnd
COMMENT ON FUNCTION ripeline_line IS
    'Text of one line and of a length in characters: line breaks in a name would reach mail headers and calendars.';

CREATE TABLE workshops (
    id                uuid        NOT NULL,
    version           bigint      NOT NULL,
    created_at        timestamptz NOT NULL,
    changed_at        timestamptz NOT NULL,
    name              text        NOT NULL,
    zone              text        NOT NULL,
    units             text        NOT NULL,
    currency          text        NOT NULL,
    locale            text        NOT NULL,
    hands             bigint      NOT NULL,
    firm_days         bigint      NOT NULL,
    hand_over_days    bigint      NOT NULL,
    demo              boolean     NOT NULL,
    book_revision     bigint      NOT NULL DEFAULT 0,
    plan_revision     bigint      NOT NULL DEFAULT 0,
    last_order_number bigint      NOT NULL DEFAULT 0,
    CONSTRAINT workshops_pkey PRIMARY KEY (id),
    CONSTRAINT workshops__version CHECK (version >= 1),
    CONSTRAINT workshops__name CHECK (ripeline_line(name, 1, 200)),
    CONSTRAINT workshops__zone CHECK (ripeline_line(zone, 1, 64)),
    CONSTRAINT workshops__units CHECK (units IN ('metric', 'imperial')),
    CONSTRAINT workshops__currency CHECK (currency ~ '^[A-Z]{3}$'),
    CONSTRAINT workshops__locale CHECK (ripeline_line(locale, 1, 64)),
    CONSTRAINT workshops__hands CHECK (hands BETWEEN 1 AND 100),
    CONSTRAINT workshops__firm_days CHECK (firm_days BETWEEN 0 AND 365),
    CONSTRAINT workshops__hand_over_days CHECK (hand_over_days BETWEEN 0 AND 365),
    CONSTRAINT workshops__book_revision CHECK (book_revision >= 0),
    CONSTRAINT workshops__plan_revision CHECK (plan_revision >= 0),
    CONSTRAINT workshops__last_order_number CHECK (last_order_number >= 0)
);
COMMENT ON COLUMN workshops.last_order_number IS 'Numbers are never given twice, even when an order is deleted.';

CREATE TABLE hours (
    workshop_id uuid   NOT NULL,
    position    bigint NOT NULL,
    weekday     bigint NOT NULL,
    from_minute bigint NOT NULL,
    to_minute   bigint NOT NULL,
    steps       text[] NOT NULL,
    CONSTRAINT hours_pkey PRIMARY KEY (workshop_id, position),
    CONSTRAINT hours__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT hours__weekday CHECK (weekday BETWEEN 0 AND 6),
    CONSTRAINT hours__to CHECK (0 <= from_minute AND from_minute < to_minute AND to_minute <= 1440),
    CONSTRAINT hours__steps CHECK (steps <@ ARRAY ['trial', 'make', 'cut', 'wrap'])
);
COMMENT ON TABLE hours IS 'Weekly working hours; weekday 0 is Sunday, minutes of the local day, no steps means any step.';

CREATE TABLE closed_days (
    workshop_id uuid        NOT NULL,
    id          uuid        NOT NULL,
    version     bigint      NOT NULL,
    created_at  timestamptz NOT NULL,
    changed_at  timestamptz NOT NULL,
    from_day    date        NOT NULL,
    to_day      date        NOT NULL,
    reason      text        NOT NULL,
    CONSTRAINT closed_days_pkey PRIMARY KEY (workshop_id, id),
    CONSTRAINT closed_days__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT closed_days__version CHECK (version >= 1),
    CONSTRAINT closed_days__to CHECK (to_day >= from_day AND to_day < 'infinity'),
    CONSTRAINT closed_days__reason CHECK (char_length(reason) <= 4000)
);

CREATE TABLE extra_windows (
    workshop_id uuid        NOT NULL,
    id          uuid        NOT NULL,
    version     bigint      NOT NULL,
    created_at  timestamptz NOT NULL,
    changed_at  timestamptz NOT NULL,
    on_day      date        NOT NULL,
    from_minute bigint      NOT NULL,
    to_minute   bigint      NOT NULL,
    steps       text[]      NOT NULL,
    reason      text        NOT NULL,
    CONSTRAINT extra_windows_pkey PRIMARY KEY (workshop_id, id),
    CONSTRAINT extra_windows__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT extra_windows__version CHECK (version >= 1),
    CONSTRAINT extra_windows__to CHECK (0 <= from_minute AND from_minute < to_minute AND to_minute <= 1440),
    CONSTRAINT extra_windows__steps CHECK (steps <@ ARRAY ['trial', 'make', 'cut', 'wrap']),
    CONSTRAINT extra_windows__reason CHECK (char_length(reason) <= 4000)
);

CREATE TABLE molds (
    workshop_id      uuid        NOT NULL,
    id               uuid        NOT NULL,
    version          bigint      NOT NULL,
    created_at       timestamptz NOT NULL,
    changed_at       timestamptz NOT NULL,
    name             text        NOT NULL,
    kind             text        NOT NULL,
    length_um        bigint      NOT NULL,
    width_um         bigint      NOT NULL,
    depth_um         bigint      NOT NULL,
    cavities         bigint      NOT NULL,
    cavity_volume_ul bigint      NOT NULL,
    count            bigint      NOT NULL,
    min_fill_ppm     bigint      NOT NULL,
    clean_minutes    bigint      NOT NULL,
    retired          boolean     NOT NULL,
    CONSTRAINT molds_pkey PRIMARY KEY (workshop_id, id),
    CONSTRAINT molds__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT molds__version CHECK (version >= 1),
    CONSTRAINT molds__name CHECK (ripeline_line(name, 1, 200)),
    CONSTRAINT molds__kind CHECK (kind IN ('loaf', 'slab', 'cavity')),
    CONSTRAINT molds__length_um CHECK (length_um BETWEEN 0 AND 100000000),
    CONSTRAINT molds__width_um CHECK (width_um BETWEEN 0 AND 100000000),
    CONSTRAINT molds__depth_um CHECK (depth_um BETWEEN 0 AND 100000000),
    CONSTRAINT molds__cavities CHECK (cavities BETWEEN 0 AND 100000),
    CONSTRAINT molds__cavity_volume_ul CHECK (cavity_volume_ul BETWEEN 0 AND 1000000000),
    CONSTRAINT molds__count CHECK (count BETWEEN 0 AND 10000),
    CONSTRAINT molds__min_fill_ppm CHECK (min_fill_ppm BETWEEN 0 AND 1000000),
    CONSTRAINT molds__clean_minutes CHECK (clean_minutes BETWEEN 0 AND 100000)
);

CREATE TABLE mold_outs (
    workshop_id uuid        NOT NULL,
    id          uuid        NOT NULL,
    version     bigint      NOT NULL,
    created_at  timestamptz NOT NULL,
    changed_at  timestamptz NOT NULL,
    mold_id     uuid        NOT NULL,
    from_day    date        NOT NULL,
    to_day      date        NOT NULL,
    units       bigint      NOT NULL,
    reason      text        NOT NULL,
    CONSTRAINT mold_outs_pkey PRIMARY KEY (workshop_id, id),
    CONSTRAINT mold_outs__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT mold_outs__mold_id FOREIGN KEY (workshop_id, mold_id) REFERENCES molds ON DELETE CASCADE,
    CONSTRAINT mold_outs__version CHECK (version >= 1),
    CONSTRAINT mold_outs__to CHECK (to_day >= from_day AND to_day < 'infinity'),
    CONSTRAINT mold_outs__units CHECK (units BETWEEN 1 AND 10000),
    CONSTRAINT mold_outs__reason CHECK (char_length(reason) <= 4000)
);
CREATE INDEX mold_outs_mold ON mold_outs (workshop_id, mold_id);

CREATE TABLE racks (
    workshop_id uuid        NOT NULL,
    id          uuid        NOT NULL,
    version     bigint      NOT NULL,
    created_at  timestamptz NOT NULL,
    changed_at  timestamptz NOT NULL,
    name        text        NOT NULL,
    width_um    bigint      NOT NULL,
    depth_um    bigint      NOT NULL,
    shelves     bigint      NOT NULL,
    retired     boolean     NOT NULL,
    CONSTRAINT racks_pkey PRIMARY KEY (workshop_id, id),
    CONSTRAINT racks__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT racks__version CHECK (version >= 1),
    CONSTRAINT racks__name CHECK (ripeline_line(name, 1, 200)),
    CONSTRAINT racks__width_um CHECK (width_um BETWEEN 1 AND 100000000),
    CONSTRAINT racks__depth_um CHECK (depth_um BETWEEN 1 AND 100000000),
    CONSTRAINT racks__shelves CHECK (shelves BETWEEN 1 AND 10000)
);
