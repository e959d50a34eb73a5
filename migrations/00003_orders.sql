-- Why: who orders what by when. A status is tied to its timestamps here, so
-- that no path through the program can store an accepted order that was never
-- accepted.

-- +goose Up

CREATE TABLE customers (
    workshop_id uuid        NOT NULL,
    id          uuid        NOT NULL,
    version     bigint      NOT NULL,
    created_at  timestamptz NOT NULL,
    changed_at  timestamptz NOT NULL,
    name        text        NOT NULL,
    email       text        NOT NULL,
    phone       text        NOT NULL,
    note        text        NOT NULL,
    retired     boolean     NOT NULL,
    CONSTRAINT customers_pkey PRIMARY KEY (workshop_id, id),
    CONSTRAINT customers__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT customers__version CHECK (version >= 1),
    CONSTRAINT customers__name CHECK (ripeline_line(name, 1, 200)),
    CONSTRAINT customers__email CHECK (ripeline_line(email, 0, 320)),
    CONSTRAINT customers__phone CHECK (ripeline_line(phone, 0, 200)),
    CONSTRAINT customers__note CHECK (char_length(note) <= 4000)
);

CREATE TABLE orders (
    workshop_id    uuid        NOT NULL,
    id             uuid        NOT NULL,
    version        bigint      NOT NULL,
    created_at     timestamptz NOT NULL,
    changed_at     timestamptz NOT NULL,
    number         bigint      NOT NULL,
    customer_id    uuid        NOT NULL,
    title          text        NOT NULL,
    needed_by      date        NOT NULL,
    hand_over_days bigint      NOT NULL,
    weight         bigint      NOT NULL,
    status         text        NOT NULL,
    told           date,
    note           text        NOT NULL,
    accepted_at    timestamptz,
    ended_at       timestamptz,
    CONSTRAINT orders_pkey PRIMARY KEY (workshop_id, id),
    CONSTRAINT orders__number UNIQUE (workshop_id, number),
    CONSTRAINT orders__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT orders__customer_id FOREIGN KEY (workshop_id, customer_id) REFERENCES customers,
    CONSTRAINT orders__version CHECK (version >= 1),
    CONSTRAINT orders__number_positive CHECK (number >= 1),
    CONSTRAINT orders__title CHECK (ripeline_line(title, 0, 200)),
    CONSTRAINT orders__needed_by CHECK (needed_by < 'infinity'),
    CONSTRAINT orders__hand_over_days CHECK (hand_over_days BETWEEN 0 AND 365),
    CONSTRAINT orders__weight CHECK (weight BETWEEN 1 AND 9),
    CONSTRAINT orders__note CHECK (char_length(note) <= 4000),
    CONSTRAINT orders__status CHECK (CASE status
        WHEN 'enquiry' THEN accepted_at IS NULL AND ended_at IS NULL
        WHEN 'accepted' THEN accepted_at IS NOT NULL AND ended_at IS NULL
        WHEN 'handed_over' THEN accepted_at IS NOT NULL AND ended_at IS NOT NULL
        WHEN 'declined' THEN accepted_at IS NULL AND ended_at IS NOT NULL
        WHEN 'cancelled' THEN accepted_at IS NOT NULL AND ended_at IS NOT NULL
        ELSE false END),
    CONSTRAINT orders__ended_at CHECK (ended_at >= accepted_at)
);
CREATE INDEX orders_customer ON orders (workshop_id, customer_id);
CREATE INDEX orders_needed_by ON orders (workshop_id, needed_by, id);

CREATE TABLE order_lines (
    workshop_id uuid   NOT NULL,
    order_id    uuid   NOT NULL,
    id          uuid   NOT NULL,
    position    bigint NOT NULL,
    design_id   uuid   NOT NULL,
    pieces      bigint NOT NULL,
    spares      bigint NOT NULL,
    keepsakes   bigint NOT NULL,
    CONSTRAINT order_lines_pkey PRIMARY KEY (workshop_id, order_id, id),
    CONSTRAINT order_lines__id UNIQUE (workshop_id, id),
    CONSTRAINT order_lines__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT order_lines__order_id FOREIGN KEY (workshop_id, order_id) REFERENCES orders ON DELETE CASCADE,
    CONSTRAINT order_lines__design_id FOREIGN KEY (workshop_id, design_id) REFERENCES designs,
    CONSTRAINT order_lines__pieces CHECK (pieces BETWEEN 0 AND 1000000),
    CONSTRAINT order_lines__spares CHECK (spares BETWEEN 0 AND 1000000),
    CONSTRAINT order_lines__keepsakes CHECK (keepsakes BETWEEN 0 AND 1000000)
);
CREATE INDEX order_lines_design ON order_lines (workshop_id, design_id);
