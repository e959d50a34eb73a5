-- Why: what is poured, what becomes of it, and who gets it. A batch's state is
-- tied to the times of its steps: a poured batch has a time of pouring.

-- +goose Up

CREATE TABLE batches (
    workshop_id     uuid        NOT NULL,
    id              uuid        NOT NULL,
    version         bigint      NOT NULL,
    created_at      timestamptz NOT NULL,
    changed_at      timestamptz NOT NULL,
    lot             text        NOT NULL,
    design_id       uuid        NOT NULL,
    state           text        NOT NULL,
    pieces          bigint      NOT NULL,
    sound           bigint      NOT NULL,
    pinned          boolean     NOT NULL,
    make_start      timestamptz,
    make_end        timestamptz,
    cut_start       timestamptz,
    cut_end         timestamptz,
    wrap_start      timestamptz,
    wrap_end        timestamptz,
    wrap_parts      jsonb       NOT NULL,
    cut_window_from timestamptz,
    cut_window_to   timestamptz,
    cure_min        date,
    cure_target     date,
    cure_until      date,
    holds           jsonb       NOT NULL,
    poured_at       timestamptz,
    cut_at          timestamptz,
    wrapped_at      timestamptz,
    ended_at        timestamptz,
    failed_step     text        NOT NULL,
    fail_reason     text        NOT NULL,
    notes           text        NOT NULL,
    CONSTRAINT batches_pkey PRIMARY KEY (workshop_id, id),
    CONSTRAINT batches__lot UNIQUE (workshop_id, lot),
    CONSTRAINT batches__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT batches__design_id FOREIGN KEY (workshop_id, design_id) REFERENCES designs,
    CONSTRAINT batches__version CHECK (version >= 1),
    CONSTRAINT batches__lot_text CHECK (ripeline_line(lot, 1, 60)),
    CONSTRAINT batches__pieces CHECK (pieces BETWEEN 1 AND 1000000),
    CONSTRAINT batches__sound CHECK (sound BETWEEN 0 AND pieces),
    CONSTRAINT batches__make CHECK (num_nulls(make_start, make_end) IN (0, 2) AND coalesce(make_start <= make_end, true)),
    CONSTRAINT batches__cut CHECK (num_nulls(cut_start, cut_end) IN (0, 2) AND coalesce(cut_start <= cut_end, true)),
    CONSTRAINT batches__wrap CHECK (num_nulls(wrap_start, wrap_end) IN (0, 2) AND coalesce(wrap_start <= wrap_end, true)),
    CONSTRAINT batches__wrap_parts CHECK (jsonb_typeof(wrap_parts) = 'array'),
    CONSTRAINT batches__cut_to CHECK (cut_window_to >= cut_window_from),
    CONSTRAINT batches__holds CHECK (jsonb_typeof(holds) = 'array'),
    CONSTRAINT batches__state CHECK (CASE state
        WHEN 'planned' THEN num_nonnulls(poured_at, cut_at, wrapped_at, ended_at) = 0
        WHEN 'poured' THEN poured_at IS NOT NULL AND num_nonnulls(cut_at, wrapped_at, ended_at) = 0
        WHEN 'curing' THEN num_nulls(poured_at, cut_at) = 0 AND num_nonnulls(wrapped_at, ended_at) = 0
        WHEN 'wrapped' THEN num_nulls(poured_at, cut_at, wrapped_at) = 0 AND ended_at IS NULL
        WHEN 'failed' THEN num_nulls(poured_at, ended_at) = 0
        WHEN 'cancelled' THEN num_nonnulls(poured_at, cut_at, wrapped_at) = 0 AND ended_at IS NOT NULL
        ELSE false END),
    CONSTRAINT batches__cut_at CHECK (cut_at >= poured_at),
    CONSTRAINT batches__wrapped_at CHECK (wrapped_at >= cut_at),
    CONSTRAINT batches__ended_at CHECK (ended_at >= poured_at),
    CONSTRAINT batches__failed_step CHECK (failed_step IN ('', 'trial', 'make', 'cut', 'cure', 'wrap')),
    CONSTRAINT batches__fail_reason CHECK (char_length(fail_reason) <= 4000),
    CONSTRAINT batches__notes CHECK (char_length(notes) <= 20000)
);
CREATE INDEX batches_design ON batches (workshop_id, design_id);
CREATE INDEX batches_running ON batches (workshop_id) WHERE state IN ('planned', 'poured', 'curing');

CREATE TABLE batch_molds (
    workshop_id uuid   NOT NULL,
    batch_id    uuid   NOT NULL,
    position    bigint NOT NULL,
    mold_id     uuid   NOT NULL,
    units       bigint NOT NULL,
    pieces      bigint NOT NULL,
    CONSTRAINT batch_molds_pkey PRIMARY KEY (workshop_id, batch_id, position),
    CONSTRAINT batch_molds__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT batch_molds__batch_id FOREIGN KEY (workshop_id, batch_id) REFERENCES batches ON DELETE CASCADE,
    CONSTRAINT batch_molds__mold_id FOREIGN KEY (workshop_id, mold_id) REFERENCES molds,
    CONSTRAINT batch_molds__units CHECK (units BETWEEN 1 AND 10000),
    CONSTRAINT batch_molds__pieces CHECK (pieces BETWEEN 0 AND 1000000)
);
CREATE INDEX batch_molds_mold ON batch_molds (workshop_id, mold_id);

CREATE TABLE batch_losses (
    workshop_id uuid        NOT NULL,
    batch_id    uuid        NOT NULL,
    position    bigint      NOT NULL,
    at          timestamptz NOT NULL,
    step        text        NOT NULL,
    pieces      bigint      NOT NULL,
    reason      text        NOT NULL,
    CONSTRAINT batch_losses_pkey PRIMARY KEY (workshop_id, batch_id, position),
    CONSTRAINT batch_losses__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT batch_losses__batch_id FOREIGN KEY (workshop_id, batch_id) REFERENCES batches ON DELETE CASCADE,
    CONSTRAINT batch_losses__step CHECK (step IN ('', 'trial', 'make', 'cut', 'cure', 'wrap')),
    CONSTRAINT batch_losses__pieces CHECK (pieces BETWEEN 0 AND 1000000),
    CONSTRAINT batch_losses__reason CHECK (char_length(reason) <= 4000)
);

CREATE TABLE batch_weighings (
    workshop_id uuid        NOT NULL,
    batch_id    uuid        NOT NULL,
    position    bigint      NOT NULL,
    at          timestamptz NOT NULL,
    pieces      bigint      NOT NULL,
    mass_mg     bigint      NOT NULL,
    CONSTRAINT batch_weighings_pkey PRIMARY KEY (workshop_id, batch_id, position),
    CONSTRAINT batch_weighings__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT batch_weighings__batch_id FOREIGN KEY (workshop_id, batch_id) REFERENCES batches ON DELETE CASCADE,
    CONSTRAINT batch_weighings__pieces CHECK (pieces BETWEEN 1 AND 1000000),
    CONSTRAINT batch_weighings__mass_mg CHECK (mass_mg BETWEEN 0 AND 100000000000)
);

CREATE TABLE lot_counters (
    workshop_id uuid   NOT NULL,
    prefix      text   NOT NULL,
    last        bigint NOT NULL,
    CONSTRAINT lot_counters_pkey PRIMARY KEY (workshop_id, prefix),
    CONSTRAINT lot_counters__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT lot_counters__prefix CHECK (ripeline_line(prefix, 1, 60)),
    CONSTRAINT lot_counters__last CHECK (last >= 1)
);
COMMENT ON TABLE lot_counters IS 'A lot code stands on soap that was sold, so it is never given twice, even when its batch is deleted.';

CREATE TABLE stocks (
    workshop_id uuid        NOT NULL,
    id          uuid        NOT NULL,
    version     bigint      NOT NULL,
    created_at  timestamptz NOT NULL,
    changed_at  timestamptz NOT NULL,
    design_id   uuid        NOT NULL,
    batch_id    uuid,
    pieces      bigint      NOT NULL,
    note        text        NOT NULL,
    CONSTRAINT stocks_pkey PRIMARY KEY (workshop_id, id),
    CONSTRAINT stocks__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT stocks__design_id FOREIGN KEY (workshop_id, design_id) REFERENCES designs,
    CONSTRAINT stocks__batch_id FOREIGN KEY (workshop_id, batch_id) REFERENCES batches,
    CONSTRAINT stocks__version CHECK (version >= 1),
    CONSTRAINT stocks__pieces CHECK (pieces BETWEEN 0 AND 1000000),
    CONSTRAINT stocks__note CHECK (char_length(note) <= 4000)
);
CREATE INDEX stocks_design ON stocks (workshop_id, design_id);
CREATE INDEX stocks_batch ON stocks (workshop_id, batch_id);

CREATE TABLE allocations (
    workshop_id uuid   NOT NULL,
    order_id    uuid   NOT NULL,
    line_id     uuid   NOT NULL,
    batch_id    uuid,
    stock_id    uuid,
    pieces      bigint NOT NULL,
    CONSTRAINT allocations__line_id UNIQUE NULLS NOT DISTINCT (workshop_id, line_id, batch_id, stock_id),
    CONSTRAINT allocations__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT allocations__order_id FOREIGN KEY (workshop_id, order_id, line_id) REFERENCES order_lines ON DELETE CASCADE,
    CONSTRAINT allocations__batch_id FOREIGN KEY (workshop_id, batch_id) REFERENCES batches ON DELETE CASCADE,
    CONSTRAINT allocations__stock_id FOREIGN KEY (workshop_id, stock_id) REFERENCES stocks ON DELETE CASCADE,
    CONSTRAINT allocations__source CHECK (num_nonnulls(batch_id, stock_id) = 1),
    CONSTRAINT allocations__pieces CHECK (pieces BETWEEN 1 AND 1000000)
);
CREATE INDEX allocations_order ON allocations (workshop_id, order_id, line_id);
CREATE INDEX allocations_batch ON allocations (workshop_id, batch_id);
CREATE INDEX allocations_stock ON allocations (workshop_id, stock_id);
