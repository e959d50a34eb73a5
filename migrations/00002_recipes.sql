-- Why: what the workshop makes: ingredients, recipes of them, and designs,
-- which are what a customer orders.

-- +goose Up

CREATE TABLE ingredients (
    workshop_id      uuid             NOT NULL,
    id               uuid             NOT NULL,
    version          bigint           NOT NULL,
    created_at       timestamptz      NOT NULL,
    changed_at       timestamptz      NOT NULL,
    name             text             NOT NULL,
    label_name       text             NOT NULL,
    kind             text             NOT NULL,
    sv_low           double precision NOT NULL,
    sv_high          double precision NOT NULL,
    sv_used          double precision NOT NULL,
    density_g_per_ml double precision NOT NULL,
    on_hand_mg       bigint           NOT NULL,
    lead_days        bigint           NOT NULL,
    expected_on      date,
    retired          boolean          NOT NULL,
    CONSTRAINT ingredients_pkey PRIMARY KEY (workshop_id, id),
    CONSTRAINT ingredients__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT ingredients__version CHECK (version >= 1),
    CONSTRAINT ingredients__name CHECK (ripeline_line(name, 1, 200)),
    CONSTRAINT ingredients__label_name CHECK (ripeline_line(label_name, 0, 200)),
    CONSTRAINT ingredients__kind CHECK (kind IN
        ('oil', 'lye', 'liquid', 'fragrance', 'colour', 'botanical', 'packaging', 'other')),
    CONSTRAINT ingredients__sv_low CHECK (sv_low BETWEEN 0 AND 1000),
    CONSTRAINT ingredients__sv_high CHECK (sv_high BETWEEN 0 AND 1000),
    CONSTRAINT ingredients__sv_used CHECK (sv_used BETWEEN 0 AND 1000),
    CONSTRAINT ingredients__density_g_per_ml CHECK (density_g_per_ml BETWEEN 0 AND 100),
    CONSTRAINT ingredients__on_hand_mg CHECK (on_hand_mg BETWEEN 0 AND 100000000000),
    CONSTRAINT ingredients__lead_days CHECK (lead_days BETWEEN 0 AND 3650)
);

CREATE TABLE recipes (
    workshop_id            uuid        NOT NULL,
    id                     uuid        NOT NULL,
    version                bigint      NOT NULL,
    created_at             timestamptz NOT NULL,
    changed_at             timestamptz NOT NULL,
    name                   text        NOT NULL,
    superfat_ppm           bigint      NOT NULL,
    lye_purity_ppm         bigint      NOT NULL,
    lye_concentration_ppm  bigint      NOT NULL,
    cut_min                bigint      NOT NULL,
    cut_max                bigint      NOT NULL,
    cut_in_days            boolean     NOT NULL,
    cure_min_days          bigint      NOT NULL,
    cure_target_days       bigint      NOT NULL,
    needs_trial            boolean     NOT NULL,
    trial_minutes          bigint      NOT NULL,
    make_minutes           bigint      NOT NULL,
    cut_minutes            bigint      NOT NULL,
    wrap_minutes           bigint      NOT NULL,
    make_seconds_per_piece bigint      NOT NULL,
    cut_seconds_per_piece  bigint      NOT NULL,
    wrap_seconds_per_piece bigint      NOT NULL,
    notes                  text        NOT NULL,
    retired                boolean     NOT NULL,
    CONSTRAINT recipes_pkey PRIMARY KEY (workshop_id, id),
    CONSTRAINT recipes__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT recipes__version CHECK (version >= 1),
    CONSTRAINT recipes__name CHECK (ripeline_line(name, 1, 200)),
    CONSTRAINT recipes__superfat_ppm CHECK (superfat_ppm BETWEEN 0 AND 1000000),
    CONSTRAINT recipes__lye_purity_ppm CHECK (lye_purity_ppm BETWEEN 0 AND 1100000),
    CONSTRAINT recipes__lye_concentration_ppm CHECK (lye_concentration_ppm BETWEEN 0 AND 1000000),
    CONSTRAINT recipes__cut_max CHECK (0 <= cut_min AND cut_min <= cut_max AND cut_max <= 10000),
    CONSTRAINT recipes__cure_target_days CHECK
        (0 <= cure_min_days AND cure_min_days <= cure_target_days AND cure_target_days <= 3650),
    CONSTRAINT recipes__trial_minutes CHECK (trial_minutes BETWEEN 0 AND 10000),
    CONSTRAINT recipes__make_minutes CHECK (make_minutes BETWEEN 0 AND 10000),
    CONSTRAINT recipes__cut_minutes CHECK (cut_minutes BETWEEN 0 AND 10000),
    CONSTRAINT recipes__wrap_minutes CHECK (wrap_minutes BETWEEN 0 AND 10000),
    CONSTRAINT recipes__make_seconds_per_piece CHECK (make_seconds_per_piece BETWEEN 0 AND 100000),
    CONSTRAINT recipes__cut_seconds_per_piece CHECK (cut_seconds_per_piece BETWEEN 0 AND 100000),
    CONSTRAINT recipes__wrap_seconds_per_piece CHECK (wrap_seconds_per_piece BETWEEN 0 AND 100000),
    CONSTRAINT recipes__notes CHECK (char_length(notes) <= 4000)
);

CREATE TABLE recipe_parts (
    workshop_id   uuid   NOT NULL,
    recipe_id     uuid   NOT NULL,
    position      bigint NOT NULL,
    ingredient_id uuid   NOT NULL,
    share_ppm     bigint NOT NULL,
    CONSTRAINT recipe_parts_pkey PRIMARY KEY (workshop_id, recipe_id, position),
    CONSTRAINT recipe_parts__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT recipe_parts__recipe_id FOREIGN KEY (workshop_id, recipe_id) REFERENCES recipes ON DELETE CASCADE,
    CONSTRAINT recipe_parts__ingredient_id FOREIGN KEY (workshop_id, ingredient_id) REFERENCES ingredients,
    CONSTRAINT recipe_parts__share_ppm CHECK (share_ppm BETWEEN 0 AND 100000000)
);
COMMENT ON COLUMN recipe_parts.share_ppm IS 'Of the mass of all oils, so a liquid may exceed 100 %.';
CREATE INDEX recipe_parts_ingredient ON recipe_parts (workshop_id, ingredient_id);

CREATE TABLE designs (
    workshop_id           uuid        NOT NULL,
    id                    uuid        NOT NULL,
    version               bigint      NOT NULL,
    created_at            timestamptz NOT NULL,
    changed_at            timestamptz NOT NULL,
    name                  text        NOT NULL,
    lot_code              text        NOT NULL,
    recipe_id             uuid        NOT NULL,
    cut_thickness_um      bigint      NOT NULL,
    cut_trim_ends_um      bigint      NOT NULL,
    cut_pieces_per_slice  bigint      NOT NULL,
    cut_rows              bigint      NOT NULL,
    cut_columns           bigint      NOT NULL,
    cut_spacing_um        bigint      NOT NULL,
    cut_dressing_clear_um bigint      NOT NULL,
    colours               jsonb       NOT NULL,
    dressing              text        NOT NULL,
    spoil_ppm             bigint      NOT NULL,
    trial_passed          boolean     NOT NULL,
    retired               boolean     NOT NULL,
    CONSTRAINT designs_pkey PRIMARY KEY (workshop_id, id),
    CONSTRAINT designs__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT designs__recipe_id FOREIGN KEY (workshop_id, recipe_id) REFERENCES recipes,
    CONSTRAINT designs__version CHECK (version >= 1),
    CONSTRAINT designs__name CHECK (ripeline_line(name, 1, 200)),
    CONSTRAINT designs__lot_code CHECK (lot_code ~ '^[A-Z]{2,6}$'),
    CONSTRAINT designs__cut CHECK (least(cut_thickness_um, cut_trim_ends_um, cut_pieces_per_slice, cut_rows,
        cut_columns, cut_spacing_um, cut_dressing_clear_um) >= 0),
    CONSTRAINT designs__colours CHECK (jsonb_typeof(colours) = 'array'),
    CONSTRAINT designs__dressing CHECK (char_length(dressing) <= 4000),
    CONSTRAINT designs__spoil_ppm CHECK (spoil_ppm BETWEEN 0 AND 1000000)
);
CREATE INDEX designs_recipe ON designs (workshop_id, recipe_id);

CREATE TABLE design_molds (
    workshop_id uuid   NOT NULL,
    design_id   uuid   NOT NULL,
    position    bigint NOT NULL,
    mold_id     uuid   NOT NULL,
    CONSTRAINT design_molds_pkey PRIMARY KEY (workshop_id, design_id, position),
    CONSTRAINT design_molds__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT design_molds__design_id FOREIGN KEY (workshop_id, design_id) REFERENCES designs ON DELETE CASCADE,
    CONSTRAINT design_molds__mold_id FOREIGN KEY (workshop_id, mold_id) REFERENCES molds
);
COMMENT ON TABLE design_molds IS 'The molds a design may be poured in.';
CREATE INDEX design_molds_mold ON design_molds (workshop_id, mold_id);
