-- Why: weighed pieces that were held against their label are kept with their batch:
-- they show that its net weight was checked, when, and by whom.

-- +goose Up

CREATE TABLE batch_weight_checks (
    workshop_id uuid        NOT NULL,
    batch_id    uuid        NOT NULL,
    number      integer     NOT NULL,
    at          timestamptz NOT NULL,
    person      text        NOT NULL,
    declared_mg bigint      NOT NULL,
    weights_mg  bigint[]    NOT NULL,
    CONSTRAINT batch_weight_checks_pkey PRIMARY KEY (workshop_id, batch_id, number),
    CONSTRAINT batch_weight_checks__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT batch_weight_checks__batch_id FOREIGN KEY (workshop_id, batch_id) REFERENCES batches ON DELETE CASCADE,
    CONSTRAINT batch_weight_checks__number CHECK (number >= 1),
    CONSTRAINT batch_weight_checks__person CHECK (ripeline_line(person, 0, 200)),
    CONSTRAINT batch_weight_checks__declared_mg CHECK (declared_mg > 0),
    CONSTRAINT batch_weight_checks__weights_mg CHECK (cardinality(weights_mg) BETWEEN 1 AND 1000)
);
COMMENT ON TABLE batch_weight_checks IS 'Weighed pieces of a batch that were held against the net weight on their label.';
SELECT ripeline_guard_table('batch_weight_checks');
