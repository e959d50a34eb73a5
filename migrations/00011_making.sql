-- Why: potash and mixed lye, water reckoned in other ways, lye and oils kept
-- ready-mixed; where a saponification value comes from; what a batch was poured
-- from, kept with it so that its sheet never changes afterwards; the ticks and
-- readings of its sheet; and weighings of single marked pieces.

-- +goose Up

ALTER TABLE ingredients
    ADD COLUMN sv_source text    NOT NULL DEFAULT '',
    ADD COLUMN wax_ester boolean NOT NULL DEFAULT false,
    ADD COLUMN alkali    text    NOT NULL DEFAULT '',
    ADD CONSTRAINT ingredients__sv_source CHECK (ripeline_line(sv_source, 0, 300)),
    ADD CONSTRAINT ingredients__alkali CHECK (alkali IN ('', 'naoh', 'koh'));

ALTER TABLE recipes
    ADD COLUMN koh_share_ppm  bigint NOT NULL DEFAULT 0,
    ADD COLUMN koh_purity_ppm bigint NOT NULL DEFAULT 0,
    ADD COLUMN water_basis    text   NOT NULL DEFAULT 'lye_concentration',
    ADD COLUMN water_ppm      bigint NOT NULL DEFAULT 0,
    ADD COLUMN lye_stock_ppm  bigint NOT NULL DEFAULT 0,
    ADD COLUMN mix_temp_mc    bigint NOT NULL DEFAULT 0,
    ADD CONSTRAINT recipes__koh_share_ppm CHECK (koh_share_ppm BETWEEN 0 AND 1000000),
    ADD CONSTRAINT recipes__koh_purity_ppm CHECK (koh_purity_ppm BETWEEN 0 AND 1100000),
    ADD CONSTRAINT recipes__water_basis CHECK (water_basis IN ('lye_concentration', 'water_ratio', 'share_of_oils')),
    ADD CONSTRAINT recipes__water_ppm CHECK (water_ppm BETWEEN 0 AND 20000000),
    ADD CONSTRAINT recipes__lye_stock_ppm CHECK (lye_stock_ppm BETWEEN 0 AND 1000000),
    ADD CONSTRAINT recipes__mix_temp_mc CHECK (mix_temp_mc BETWEEN 0 AND 150000);
COMMENT ON COLUMN recipes.koh_share_ppm IS 'Of the saponification; the rest is sodium hydroxide.';
COMMENT ON COLUMN recipes.water_ppm IS 'To lye or to the oils, as water_basis says; unused by lye_concentration.';
COMMENT ON COLUMN recipes.lye_stock_ppm IS 'Pure lye in the ready solution that batches draw from; 0 when lye is dissolved fresh.';
COMMENT ON COLUMN recipes.mix_temp_mc IS 'At which oils and lye solution are combined, in thousandths of a degree Celsius; 0 when not said.';

ALTER TABLE recipe_parts ADD COLUMN blended boolean NOT NULL DEFAULT false;
COMMENT ON COLUMN recipe_parts.blended IS 'Comes out of the ready-mixed blend of oils.';

ALTER TABLE batch_weighings
    ADD COLUMN mark text NOT NULL DEFAULT '',
    ADD CONSTRAINT batch_weighings__mark CHECK (ripeline_line(mark, 0, 40));

CREATE TABLE batch_makings (
    workshop_id uuid  NOT NULL,
    batch_id    uuid  NOT NULL,
    made        jsonb NOT NULL,
    CONSTRAINT batch_makings_pkey PRIMARY KEY (workshop_id, batch_id),
    CONSTRAINT batch_makings__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT batch_makings__batch_id FOREIGN KEY (workshop_id, batch_id) REFERENCES batches ON DELETE CASCADE,
    CONSTRAINT batch_makings__made CHECK (jsonb_typeof(made) = 'object')
);
COMMENT ON TABLE batch_makings IS 'The recipe, design, ingredients and molds of a poured batch as they were at the pour.';
SELECT ripeline_guard_table('batch_makings');

CREATE TABLE batch_ticks (
    workshop_id uuid        NOT NULL,
    batch_id    uuid        NOT NULL,
    item        text        NOT NULL,
    at          timestamptz NOT NULL,
    person      text        NOT NULL,
    reading     bigint      NOT NULL,
    CONSTRAINT batch_ticks_pkey PRIMARY KEY (workshop_id, batch_id, item),
    CONSTRAINT batch_ticks__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT batch_ticks__batch_id FOREIGN KEY (workshop_id, batch_id) REFERENCES batches ON DELETE CASCADE,
    CONSTRAINT batch_ticks__item CHECK (ripeline_line(item, 1, 80)),
    CONSTRAINT batch_ticks__person CHECK (ripeline_line(person, 0, 200)),
    CONSTRAINT batch_ticks__reading CHECK (reading BETWEEN 0 AND 10000000)
);
COMMENT ON TABLE batch_ticks IS 'What of a batch''s sheet is done, by whom and when; of a reading also its value.';
SELECT ripeline_guard_table('batch_ticks');
