-- Why: the published plan, revision by revision, the calendar entries made
-- from it, and the plans that wait for a yes. What calendars rely on (a task's
-- sequence never falls, a cancelled one never revives) is kept by the database.

-- +goose Up

CREATE TABLE plan_revisions (
    workshop_id uuid        NOT NULL,
    number      bigint      NOT NULL,
    at          timestamptz NOT NULL,
    by          text        NOT NULL,
    why         text        NOT NULL,
    objective   jsonb       NOT NULL,
    bound       jsonb       NOT NULL,
    proved      boolean     NOT NULL,
    diff        jsonb       NOT NULL,
    outcomes    jsonb       NOT NULL,
    problems    jsonb       NOT NULL,
    CONSTRAINT plan_revisions_pkey PRIMARY KEY (workshop_id, number),
    CONSTRAINT plan_revisions__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT plan_revisions__number CHECK (number >= 1),
    CONSTRAINT plan_revisions__by CHECK (ripeline_line(by, 0, 200)),
    CONSTRAINT plan_revisions__why CHECK (char_length(why) <= 4000),
    CONSTRAINT plan_revisions__objective CHECK (jsonb_typeof(objective) = 'object'),
    CONSTRAINT plan_revisions__bound CHECK (jsonb_typeof(bound) = 'object'),
    CONSTRAINT plan_revisions__diff CHECK (jsonb_typeof(diff) = 'object'),
    CONSTRAINT plan_revisions__outcomes CHECK (jsonb_typeof(outcomes) = 'array'),
    CONSTRAINT plan_revisions__problems CHECK (jsonb_typeof(problems) = 'array')
);

CREATE TABLE proposals (
    workshop_id   uuid        NOT NULL,
    id            uuid        NOT NULL,
    at            timestamptz NOT NULL,
    why           text        NOT NULL,
    rank          bigint      NOT NULL,
    kind          text        NOT NULL,
    title         text        NOT NULL,
    costs         jsonb       NOT NULL,
    status        text        NOT NULL,
    base_revision bigint      NOT NULL,
    book_revision bigint      NOT NULL,
    diff          jsonb       NOT NULL,
    plan          jsonb       NOT NULL,
    CONSTRAINT proposals_pkey PRIMARY KEY (workshop_id, id),
    CONSTRAINT proposals__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT proposals__why CHECK (char_length(why) <= 4000),
    CONSTRAINT proposals__rank CHECK (rank >= 1),
    CONSTRAINT proposals__kind CHECK (ripeline_line(kind, 1, 40)),
    CONSTRAINT proposals__title CHECK (char_length(title) <= 4000),
    CONSTRAINT proposals__costs CHECK (jsonb_typeof(costs) = 'array'),
    CONSTRAINT proposals__status CHECK (status IN ('open', 'taken', 'dismissed', 'superseded')),
    CONSTRAINT proposals__base_revision CHECK (base_revision >= 0),
    CONSTRAINT proposals__book_revision CHECK (book_revision >= 0),
    CONSTRAINT proposals__diff CHECK (jsonb_typeof(diff) = 'object'),
    CONSTRAINT proposals__plan CHECK (jsonb_typeof(plan) IN ('object', 'null'))
);
CREATE INDEX proposals_newest ON proposals (workshop_id, status, at DESC, rank);

CREATE TABLE tasks (
    workshop_id uuid        NOT NULL,
    id          uuid        NOT NULL,
    kind        text        NOT NULL,
    batch_id    uuid,
    order_id    uuid,
    design_id   uuid,
    part        bigint      NOT NULL,
    from_at     timestamptz,
    to_at       timestamptz,
    day         date        NOT NULL,
    last_day    date        NOT NULL,
    all_day     boolean     NOT NULL,
    title       text        NOT NULL,
    detail      text        NOT NULL,
    status      text        NOT NULL,
    sequence    bigint      NOT NULL,
    changed_at  timestamptz NOT NULL,
    revision    bigint      NOT NULL,
    CONSTRAINT tasks_pkey PRIMARY KEY (workshop_id, id),
    CONSTRAINT tasks__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT tasks__batch_id FOREIGN KEY (workshop_id, batch_id) REFERENCES batches ON DELETE CASCADE,
    CONSTRAINT tasks__order_id FOREIGN KEY (workshop_id, order_id) REFERENCES orders ON DELETE CASCADE,
    CONSTRAINT tasks__design_id FOREIGN KEY (workshop_id, design_id) REFERENCES designs ON DELETE CASCADE,
    CONSTRAINT tasks__kind CHECK (kind IN ('trial', 'make', 'cut', 'cure', 'wrap', 'hand_over', 'supplies')),
    CONSTRAINT tasks__part CHECK (part >= 0),
    CONSTRAINT tasks__all_day CHECK (CASE WHEN all_day THEN num_nonnulls(from_at, to_at) = 0
        ELSE num_nulls(from_at, to_at) = 0 AND from_at <= to_at END),
    CONSTRAINT tasks__last_day CHECK (last_day >= day AND last_day < 'infinity'),
    CONSTRAINT tasks__title CHECK (ripeline_line(title, 0, 1000)),
    CONSTRAINT tasks__detail CHECK (char_length(detail) <= 20000),
    CONSTRAINT tasks__status CHECK (status IN ('open', 'done', 'cancelled')),
    CONSTRAINT tasks__sequence CHECK (sequence >= 0),
    CONSTRAINT tasks__revision CHECK (revision >= 0)
);
CREATE INDEX tasks_by_last_day ON tasks (workshop_id, last_day);
CREATE INDEX tasks_open ON tasks (workshop_id) WHERE status = 'open';
CREATE INDEX tasks_batch ON tasks (workshop_id, batch_id);
CREATE INDEX tasks_order ON tasks (workshop_id, order_id);
CREATE INDEX tasks_design ON tasks (workshop_id, design_id);

-- +goose StatementBegin
CREATE FUNCTION ripeline_task_goes_on() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NEW.sequence < OLD.sequence THEN
        RAISE EXCEPTION 'the sequence of task % would fall from % to %', OLD.id, OLD.sequence, NEW.sequence
            USING ERRCODE = 'check_violation', CONSTRAINT = 'tasks__sequence', TABLE = 'tasks';
    END IF;
    IF OLD.status = 'cancelled' AND NEW.status <> 'cancelled' THEN
        RAISE EXCEPTION 'task % is cancelled and would come back; give a new task a new id', OLD.id
            USING ERRCODE = 'check_violation', CONSTRAINT = 'tasks__status', TABLE = 'tasks';
    END IF;
    RETURN NEW;
END $$;
-- +goose StatementEnd
CREATE TRIGGER tasks_go_on BEFORE UPDATE ON tasks FOR EACH ROW EXECUTE FUNCTION ripeline_task_goes_on();
