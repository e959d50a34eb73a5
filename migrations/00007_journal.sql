-- Why: who did what to what, when, kept from change below the program; and
-- the answers given under idempotency keys, so that a repeated request is not
-- done twice.

-- +goose Up

CREATE TABLE journal (
    workshop_id uuid        NOT NULL,
    id          bigint      NOT NULL,
    at          timestamptz NOT NULL,
    person      text        NOT NULL,
    action      text        NOT NULL,
    subject     text        NOT NULL,
    text        text        NOT NULL,
    CONSTRAINT journal_pkey PRIMARY KEY (workshop_id, id),
    CONSTRAINT journal__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT journal__person CHECK (ripeline_line(person, 0, 200)),
    CONSTRAINT journal__action CHECK (ripeline_line(action, 1, 100)),
    CONSTRAINT journal__subject CHECK (ripeline_line(subject, 0, 200)),
    CONSTRAINT journal__text CHECK (char_length(text) <= 10000)
);
CREATE INDEX journal_subject ON journal (workshop_id, subject, id);

-- A row may go only with its workshop: when the deletion of the workshop
-- cascades, the workshop's row is already gone. Row-level security can not
-- hide it from this question, since who sees the journal sees the workshop.
-- +goose StatementBegin
CREATE FUNCTION ripeline_journal_stays() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE' AND NOT EXISTS (SELECT FROM workshops WHERE id = OLD.workshop_id) THEN
        RETURN OLD;
    END IF;
    RAISE EXCEPTION 'the journal is only added to: % is refused', TG_OP
        USING ERRCODE = 'insufficient_privilege', TABLE = 'journal';
END $$;
-- +goose StatementEnd
CREATE TRIGGER journal_stays BEFORE UPDATE OR DELETE ON journal
    FOR EACH ROW EXECUTE FUNCTION ripeline_journal_stays();
CREATE TRIGGER journal_stays_whole BEFORE TRUNCATE ON journal
    FOR EACH STATEMENT EXECUTE FUNCTION ripeline_journal_stays();

CREATE TABLE idempotency_keys (
    workshop_id  uuid        NOT NULL,
    key          text        NOT NULL,
    request_hash bytea       NOT NULL,
    result       bytea       NOT NULL,
    created_at   timestamptz NOT NULL DEFAULT now(),
    CONSTRAINT idempotency_keys_pkey PRIMARY KEY (workshop_id, key),
    CONSTRAINT idempotency_keys__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT idempotency_keys__key CHECK (char_length(key) BETWEEN 1 AND 300)
);
CREATE INDEX idempotency_keys_age ON idempotency_keys (workshop_id, created_at);
