-- Why: a published plan may stand on what is gone, such as a mold, while another one
-- waits for a yes: its tasks say so, in calendars too. An order may be handed over on a
-- day before the one on which that is written down.

-- +goose Up

ALTER TABLE tasks ADD COLUMN obstacle text NOT NULL DEFAULT '';
ALTER TABLE tasks ADD CONSTRAINT tasks__obstacle CHECK (char_length(obstacle) <= 20000);
COMMENT ON COLUMN tasks.obstacle IS 'Why it can not be done as planned; empty while nothing is in the way.';

ALTER TABLE orders ADD COLUMN left_on date;
ALTER TABLE orders ADD CONSTRAINT orders__left_on CHECK (left_on IS NULL OR status = 'handed_over' AND left_on < 'infinity');
COMMENT ON COLUMN orders.left_on IS 'The day its pieces were handed over; null for the day of ended_at, as before there was this column.';
