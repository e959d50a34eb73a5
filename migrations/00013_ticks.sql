-- Why: a tick of a batch's sheet says what was ticked, so that it is seen when the
-- sheet says something else by now; pots are named by their colours, whose names
-- are longer than an item could be; and the journal has room for all the lots of a
-- batch, as they were and as they are.

-- +goose Up

ALTER TABLE batch_ticks
    ADD COLUMN said    text   NOT NULL DEFAULT '',
    ADD COLUMN mass_mg bigint NOT NULL DEFAULT 0,
    ADD CONSTRAINT batch_ticks__said CHECK (char_length(said) <= 10000),
    ADD CONSTRAINT batch_ticks__mass_mg CHECK (mass_mg >= 0),
    DROP CONSTRAINT batch_ticks__item,
    ADD CONSTRAINT batch_ticks__item CHECK (ripeline_line(item, 1, 300));
COMMENT ON COLUMN batch_ticks.said IS 'The item as it was when it was ticked; empty of a reading, and of ticks older than this column.';

ALTER TABLE journal
    DROP CONSTRAINT journal__text,
    ADD CONSTRAINT journal__text CHECK (char_length(text) <= 200000);
