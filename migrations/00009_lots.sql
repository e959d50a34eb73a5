-- Why: what stands on the shelf is known by the supplier's lots: which of them
-- went into which batch is what a recall asks. An ingredient's stock is the sum
-- of its lots; what was counted before, and what was on order, becomes a lot
-- and a purchase that say so. What must be ordered is a task of its ingredient.

-- +goose Up

CREATE TABLE ingredient_lots (
    workshop_id   uuid        NOT NULL,
    id            uuid        NOT NULL,
    version       bigint      NOT NULL,
    created_at    timestamptz NOT NULL,
    changed_at    timestamptz NOT NULL,
    ingredient_id uuid        NOT NULL,
    code          text        NOT NULL,
    received_on   date        NOT NULL,
    expires_on    date,
    received_mg   bigint      NOT NULL,
    left_mg       bigint      NOT NULL,
    price_minor   bigint      NOT NULL,
    note          text        NOT NULL,
    CONSTRAINT ingredient_lots_pkey PRIMARY KEY (workshop_id, id),
    CONSTRAINT ingredient_lots__lot_id UNIQUE (workshop_id, ingredient_id, id),
    CONSTRAINT ingredient_lots__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT ingredient_lots__ingredient_id FOREIGN KEY (workshop_id, ingredient_id) REFERENCES ingredients,
    CONSTRAINT ingredient_lots__version CHECK (version >= 1),
    CONSTRAINT ingredient_lots__code CHECK (ripeline_line(code, 0, 60)),
    CONSTRAINT ingredient_lots__received_on CHECK (received_on < 'infinity'),
    CONSTRAINT ingredient_lots__expires_on CHECK (expires_on >= received_on AND expires_on < 'infinity'),
    CONSTRAINT ingredient_lots__received_mg CHECK (received_mg BETWEEN 1 AND 100000000000),
    CONSTRAINT ingredient_lots__left_mg CHECK (left_mg BETWEEN 0 AND received_mg),
    CONSTRAINT ingredient_lots__price_minor CHECK (price_minor BETWEEN 0 AND 1000000000),
    CONSTRAINT ingredient_lots__note CHECK (char_length(note) <= 4000)
);
COMMENT ON COLUMN ingredient_lots.code IS 'The supplier''s; empty when it is not known.';
COMMENT ON COLUMN ingredient_lots.price_minor IS 'Paid for all that was received, in the smallest unit of the currency; 0 when not known.';
CREATE INDEX ingredient_lots_code ON ingredient_lots (workshop_id, lower(code));
CREATE INDEX ingredient_lots_left ON ingredient_lots (workshop_id) WHERE left_mg > 0;

CREATE TABLE purchases (
    workshop_id   uuid        NOT NULL,
    id            uuid        NOT NULL,
    version       bigint      NOT NULL,
    created_at    timestamptz NOT NULL,
    changed_at    timestamptz NOT NULL,
    ingredient_id uuid        NOT NULL,
    quantity_mg   bigint      NOT NULL,
    ordered_on    date,
    arrives_on    date        NOT NULL,
    price_minor   bigint      NOT NULL,
    note          text        NOT NULL,
    lot_id        uuid,
    CONSTRAINT purchases_pkey PRIMARY KEY (workshop_id, id),
    CONSTRAINT purchases__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT purchases__ingredient_id FOREIGN KEY (workshop_id, ingredient_id) REFERENCES ingredients,
    CONSTRAINT purchases__lot_id FOREIGN KEY (workshop_id, ingredient_id, lot_id)
        REFERENCES ingredient_lots (workshop_id, ingredient_id, id) ON DELETE SET NULL (lot_id),
    CONSTRAINT purchases__version CHECK (version >= 1),
    CONSTRAINT purchases__quantity_mg CHECK (quantity_mg BETWEEN 0 AND 100000000000),
    CONSTRAINT purchases__ordered_on CHECK (ordered_on < 'infinity'),
    CONSTRAINT purchases__arrives_on CHECK (arrives_on < 'infinity' AND coalesce(ordered_on <= arrives_on, true)),
    CONSTRAINT purchases__price_minor CHECK (price_minor BETWEEN 0 AND 1000000000),
    CONSTRAINT purchases__note CHECK (char_length(note) <= 4000)
);
COMMENT ON COLUMN purchases.quantity_mg IS '0 when it was not said: then it is taken to be enough.';
COMMENT ON COLUMN purchases.lot_id IS 'What it became when it was received; once that lot is removed it is on order again.';
CREATE INDEX purchases_ingredient ON purchases (workshop_id, ingredient_id, lot_id);

CREATE TABLE batch_uses (
    workshop_id   uuid   NOT NULL,
    batch_id      uuid   NOT NULL,
    position      bigint NOT NULL,
    ingredient_id uuid   NOT NULL,
    lot_id        uuid,
    used_mg       bigint NOT NULL,
    CONSTRAINT batch_uses_pkey PRIMARY KEY (workshop_id, batch_id, position),
    CONSTRAINT batch_uses__lots UNIQUE NULLS NOT DISTINCT (workshop_id, batch_id, ingredient_id, lot_id),
    CONSTRAINT batch_uses__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT batch_uses__batch_id FOREIGN KEY (workshop_id, batch_id) REFERENCES batches ON DELETE CASCADE,
    CONSTRAINT batch_uses__ingredient_id FOREIGN KEY (workshop_id, ingredient_id) REFERENCES ingredients,
    CONSTRAINT batch_uses__lot_id FOREIGN KEY (workshop_id, ingredient_id, lot_id)
        REFERENCES ingredient_lots (workshop_id, ingredient_id, id),
    CONSTRAINT batch_uses__used_mg CHECK (used_mg BETWEEN 1 AND 100000000000)
);
COMMENT ON COLUMN batch_uses.lot_id IS 'NULL for what came of no lot on record.';
CREATE INDEX batch_uses_lot ON batch_uses (workshop_id, lot_id, batch_id);
CREATE INDEX batch_uses_ingredient ON batch_uses (workshop_id, ingredient_id);

ALTER TABLE tasks ADD COLUMN ingredient_id uuid;
ALTER TABLE tasks ADD CONSTRAINT tasks__ingredient_id
    FOREIGN KEY (workshop_id, ingredient_id) REFERENCES ingredients ON DELETE CASCADE;
CREATE INDEX tasks_ingredient ON tasks (workshop_id, ingredient_id);

SELECT ripeline_guard_table('ingredient_lots');
SELECT ripeline_guard_table('purchases');
SELECT ripeline_guard_table('batch_uses');

-- The old columns stay so that backups made before this still restore: what
-- such a row says of its stock becomes a lot and a purchase at once.
ALTER TABLE ingredients ALTER COLUMN on_hand_mg SET DEFAULT 0;
COMMENT ON COLUMN ingredients.on_hand_mg IS 'Always 0: stock is in ingredient_lots.';
COMMENT ON COLUMN ingredients.expected_on IS 'Always NULL: what is on order is in purchases.';

-- +goose StatementBegin
CREATE FUNCTION ripeline_shelve() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NEW.on_hand_mg > 0 THEN
        INSERT INTO ingredient_lots (workshop_id, id, version, created_at, changed_at, ingredient_id, code,
            received_on, received_mg, left_mg, price_minor, note)
        VALUES (NEW.workshop_id, gen_random_uuid(), 1, NEW.changed_at, NEW.changed_at, NEW.id, '',
            (NEW.changed_at AT TIME ZONE 'UTC')::date, NEW.on_hand_mg, NEW.on_hand_mg, 0, 'Counted before lots were kept');
    END IF;
    IF NEW.expected_on IS NOT NULL THEN
        INSERT INTO purchases (workshop_id, id, version, created_at, changed_at, ingredient_id, quantity_mg,
            arrives_on, price_minor, note)
        VALUES (NEW.workshop_id, gen_random_uuid(), 1, NEW.changed_at, NEW.changed_at, NEW.id, 0,
            NEW.expected_on, 0, 'On order before amounts were kept');
    END IF;
    UPDATE ingredients SET on_hand_mg = 0, expected_on = NULL WHERE workshop_id = NEW.workshop_id AND id = NEW.id;
    RETURN NULL;
END $$;

CREATE TRIGGER ingredients_shelve AFTER INSERT OR UPDATE ON ingredients FOR EACH ROW
    WHEN (NEW.on_hand_mg > 0 OR NEW.expected_on IS NOT NULL) EXECUTE FUNCTION ripeline_shelve();

-- Row-level security binds the migration too: it goes from workshop to workshop.
DO $$
DECLARE
    shop uuid;
BEGIN
    PERFORM set_config('ripeline.scope', 'system', true);
    FOR shop IN SELECT id FROM workshops ORDER BY id LOOP
        PERFORM set_config('ripeline.workshop', shop::text, true);
        UPDATE ingredients SET on_hand_mg = on_hand_mg
        WHERE workshop_id = shop AND (on_hand_mg > 0 OR expected_on IS NOT NULL);
    END LOOP;
    PERFORM set_config('ripeline.workshop', '', true);
    PERFORM set_config('ripeline.scope', '', true);
END $$;
-- +goose StatementEnd
