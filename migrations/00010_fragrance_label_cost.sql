-- Why: a fragrance may only be used as its supplier's certificate allows, a
-- blend that is new to a recipe is tried before the first real batch, and a bar is
-- labelled and priced. Certificates stand on the ingredient, trials are records
-- of their own, the rest are a few settings of ingredients, recipes, designs
-- and the workshop.

-- +goose Up

ALTER TABLE workshops
    ADD COLUMN hourly_rate_minor  bigint  NOT NULL DEFAULT 0,
    ADD COLUMN markup_ppm         bigint  NOT NULL DEFAULT 0,
    ADD COLUMN responsible_person text    NOT NULL DEFAULT '',
    ADD COLUMN label_names        text    NOT NULL DEFAULT 'as_added',
    ADD COLUMN label_both_units   boolean NOT NULL DEFAULT false,
    ADD COLUMN best_before_months bigint  NOT NULL DEFAULT 0,
    ADD CONSTRAINT workshops__hourly_rate_minor CHECK (hourly_rate_minor BETWEEN 0 AND 1000000000),
    ADD CONSTRAINT workshops__markup_ppm CHECK (markup_ppm BETWEEN 0 AND 10000000),
    ADD CONSTRAINT workshops__responsible_person CHECK (char_length(responsible_person) <= 4000),
    ADD CONSTRAINT workshops__label_names CHECK (label_names IN ('as_added', 'as_saponified')),
    ADD CONSTRAINT workshops__best_before_months CHECK (best_before_months BETWEEN 0 AND 120);
COMMENT ON COLUMN workshops.hourly_rate_minor IS 'In the smallest unit of the workshop''s currency, as every amount of money.';

ALTER TABLE ingredients
    ADD COLUMN soap_name              text    NOT NULL DEFAULT '',
    ADD COLUMN price_minor_per_kg     bigint  NOT NULL DEFAULT 0,
    ADD COLUMN fragrance_limit        text    NOT NULL DEFAULT 'no_certificate',
    ADD COLUMN fragrance_max_ppm      bigint  NOT NULL DEFAULT 0,
    ADD COLUMN fragrance_reference    text    NOT NULL DEFAULT '',
    ADD COLUMN fragrance_dated        date,
    ADD COLUMN fragrance_behaviour    text    NOT NULL DEFAULT 'unknown',
    ADD COLUMN fragrance_vanillin     boolean NOT NULL DEFAULT false,
    ADD COLUMN fragrance_vanillin_ppm bigint  NOT NULL DEFAULT 0,
    ADD COLUMN fragrance_allergens    jsonb   NOT NULL DEFAULT '[]',
    ADD CONSTRAINT ingredients__soap_name CHECK (ripeline_line(soap_name, 0, 200)),
    ADD CONSTRAINT ingredients__price_minor_per_kg CHECK (price_minor_per_kg BETWEEN 0 AND 1000000000),
    ADD CONSTRAINT "ingredients__fragrance.limit" CHECK (fragrance_limit IN ('max', 'not_permitted', 'no_limit', 'no_certificate')),
    ADD CONSTRAINT "ingredients__fragrance.max_ppm" CHECK
        (fragrance_max_ppm BETWEEN 0 AND 1000000 AND (fragrance_limit = 'max') = (fragrance_max_ppm > 0)),
    ADD CONSTRAINT "ingredients__fragrance.reference" CHECK (ripeline_line(fragrance_reference, 0, 200)),
    ADD CONSTRAINT "ingredients__fragrance.behaviour" CHECK (fragrance_behaviour IN ('steady', 'thickens', 'unknown')),
    ADD CONSTRAINT "ingredients__fragrance.vanillin_ppm" CHECK (fragrance_vanillin_ppm BETWEEN 0 AND 1000000),
    ADD CONSTRAINT "ingredients__fragrance.allergens" CHECK (jsonb_typeof(fragrance_allergens) = 'array');
COMMENT ON COLUMN ingredients.fragrance_max_ppm IS 'Of the finished product.';

ALTER TABLE recipes
    ADD COLUMN cure_loss_ppm bigint NOT NULL DEFAULT 150000,
    ADD CONSTRAINT recipes__cure_loss_ppm CHECK (cure_loss_ppm BETWEEN 0 AND 500000);
COMMENT ON COLUMN recipes.cure_loss_ppm IS
    'The largest share of its weight that the soap loses in the cure: limits and net weights go by the cured bar.';

ALTER TABLE designs
    ADD COLUMN packaging_minor bigint NOT NULL DEFAULT 0,
    ADD CONSTRAINT designs__packaging_minor CHECK (packaging_minor BETWEEN 0 AND 1000000000);
COMMENT ON COLUMN designs.packaging_minor IS 'For one piece.';

CREATE TABLE trials (
    workshop_id uuid        NOT NULL,
    id          uuid        NOT NULL,
    version     bigint      NOT NULL,
    created_at  timestamptz NOT NULL,
    changed_at  timestamptz NOT NULL,
    recipe_id   uuid        NOT NULL,
    judged_on   date        NOT NULL,
    verdict     text        NOT NULL,
    notes       text        NOT NULL,
    CONSTRAINT trials_pkey PRIMARY KEY (workshop_id, id),
    CONSTRAINT trials__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT trials__recipe_id FOREIGN KEY (workshop_id, recipe_id) REFERENCES recipes,
    CONSTRAINT trials__version CHECK (version >= 1),
    CONSTRAINT trials__verdict CHECK (verdict IN ('fit', 'unfit', 'again')),
    CONSTRAINT trials__notes CHECK (char_length(notes) <= 4000)
);
CREATE INDEX trials_recipe ON trials (workshop_id, recipe_id, judged_on);

CREATE TABLE trial_fragrances (
    workshop_id   uuid   NOT NULL,
    trial_id      uuid   NOT NULL,
    position      bigint NOT NULL,
    ingredient_id uuid   NOT NULL,
    CONSTRAINT trial_fragrances_pkey PRIMARY KEY (workshop_id, trial_id, position),
    CONSTRAINT trial_fragrances__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT trial_fragrances__trial_id FOREIGN KEY (workshop_id, trial_id) REFERENCES trials ON DELETE CASCADE,
    CONSTRAINT trial_fragrances__ingredient_id FOREIGN KEY (workshop_id, ingredient_id) REFERENCES ingredients
);
COMMENT ON TABLE trial_fragrances IS 'The fragrances that were in the recipe when it was tried: a trial says nothing of others.';
CREATE INDEX trial_fragrances_ingredient ON trial_fragrances (workshop_id, ingredient_id);

-- What was poured and did not fail before trials were recorded has proved
-- itself. Row-level security shows one workshop at a time.
-- +goose StatementBegin
DO $$
DECLARE
    shop uuid;
BEGIN
    PERFORM set_config('ripeline.scope', 'system', true);
    FOR shop IN SELECT id FROM workshops LOOP
        PERFORM set_config('ripeline.workshop', shop::text, true);
        INSERT INTO trials (workshop_id, id, version, created_at, changed_at, recipe_id, judged_on, verdict, notes)
            SELECT shop, gen_random_uuid(), 1, date_trunc('second', now()), date_trunc('second', now()), r.id, current_date, 'fit',
                'Poured before trials were recorded.'
            FROM recipes r
            WHERE r.workshop_id = shop AND EXISTS (
                SELECT FROM designs d WHERE d.workshop_id = shop AND d.recipe_id = r.id AND (d.trial_passed OR EXISTS (
                    SELECT FROM batches b
                    WHERE b.workshop_id = shop AND b.design_id = d.id AND b.state IN ('curing', 'wrapped'))));
        INSERT INTO trial_fragrances (workshop_id, trial_id, position, ingredient_id)
            SELECT shop, t.id, p.position, p.ingredient_id
            FROM trials t
            JOIN recipe_parts p ON p.workshop_id = shop AND p.recipe_id = t.recipe_id
            JOIN ingredients i ON i.workshop_id = shop AND i.id = p.ingredient_id
            WHERE t.workshop_id = shop AND i.kind = 'fragrance';
    END LOOP;
    PERFORM set_config('ripeline.scope', '', true), set_config('ripeline.workshop', '', true);
END $$;
-- +goose StatementEnd

SELECT ripeline_guard_table('trials'), ripeline_guard_table('trial_fragrances');
