-- Why: who may do what, by which secret, and what they are reminded of. Only
-- hashes of secrets are stored. Sessions, sign-ins and the installation's own
-- secrets belong to no workshop: they are needed before one is known.

-- +goose Up

CREATE TABLE people (
    workshop_id     uuid        NOT NULL,
    id              uuid        NOT NULL,
    version         bigint      NOT NULL,
    created_at      timestamptz NOT NULL,
    changed_at      timestamptz NOT NULL,
    name            text        NOT NULL,
    email           text        NOT NULL,
    role            text        NOT NULL,
    password_hash   text        NOT NULL,
    digest_at       bigint,
    digest_today_at bigint,
    quiet_from      bigint,
    quiet_to        bigint,
    retired         boolean     NOT NULL,
    CONSTRAINT people_pkey PRIMARY KEY (workshop_id, id),
    CONSTRAINT people__id UNIQUE (id),
    CONSTRAINT people__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT people__version CHECK (version >= 1),
    CONSTRAINT people__name CHECK (ripeline_line(name, 1, 200)),
    CONSTRAINT people__email_text CHECK (ripeline_line(email, 1, 320)),
    CONSTRAINT people__role CHECK (role IN ('owner', 'helper', 'viewer')),
    CONSTRAINT people__password_hash CHECK (char_length(password_hash) <= 500),
    CONSTRAINT people__digest_at CHECK (digest_at BETWEEN 0 AND 1440),
    CONSTRAINT people__digest_today_at CHECK (digest_today_at BETWEEN 0 AND 1440),
    CONSTRAINT people__quiet_from CHECK (quiet_from BETWEEN 0 AND 1440),
    CONSTRAINT people__quiet_to CHECK (quiet_to BETWEEN 0 AND 1440)
);
CREATE UNIQUE INDEX people__email ON people (lower(email));

CREATE TABLE api_tokens (
    workshop_id uuid        NOT NULL,
    id          uuid        NOT NULL,
    version     bigint      NOT NULL,
    created_at  timestamptz NOT NULL,
    changed_at  timestamptz NOT NULL,
    name        text        NOT NULL,
    scope       text        NOT NULL,
    person_id   uuid        NOT NULL,
    hash        bytea       NOT NULL,
    used_at     timestamptz,
    revoked_at  timestamptz,
    CONSTRAINT api_tokens_pkey PRIMARY KEY (workshop_id, id),
    CONSTRAINT api_tokens__hash UNIQUE (hash),
    CONSTRAINT api_tokens__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT api_tokens__person_id FOREIGN KEY (workshop_id, person_id) REFERENCES people ON DELETE CASCADE,
    CONSTRAINT api_tokens__version CHECK (version >= 1),
    CONSTRAINT api_tokens__name CHECK (ripeline_line(name, 1, 200)),
    CONSTRAINT api_tokens__scope CHECK (scope IN ('read', 'write')),
    CONSTRAINT api_tokens__hash_length CHECK (octet_length(hash) BETWEEN 16 AND 64)
);
CREATE INDEX api_tokens_person ON api_tokens (workshop_id, person_id);

CREATE TABLE feeds (
    workshop_id   uuid        NOT NULL,
    id            uuid        NOT NULL,
    version       bigint      NOT NULL,
    created_at    timestamptz NOT NULL,
    changed_at    timestamptz NOT NULL,
    name          text        NOT NULL,
    kind          text        NOT NULL,
    order_id      uuid,
    alarm_minutes bigint      NOT NULL,
    hash          bytea       NOT NULL,
    used_at       timestamptz,
    revoked_at    timestamptz,
    CONSTRAINT feeds_pkey PRIMARY KEY (workshop_id, id),
    CONSTRAINT feeds__hash UNIQUE (hash),
    CONSTRAINT feeds__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT feeds__order_id FOREIGN KEY (workshop_id, order_id) REFERENCES orders ON DELETE CASCADE,
    CONSTRAINT feeds__version CHECK (version >= 1),
    CONSTRAINT feeds__name CHECK (ripeline_line(name, 1, 200)),
    CONSTRAINT feeds__kind CHECK (kind IN
        ('all', 'order', 'trial', 'make', 'cut', 'cure', 'wrap', 'hand_over', 'supplies')),
    CONSTRAINT feeds__order_kind CHECK ((kind = 'order') = (order_id IS NOT NULL)),
    CONSTRAINT feeds__alarm_minutes CHECK (alarm_minutes BETWEEN 0 AND 100000),
    CONSTRAINT feeds__hash_length CHECK (octet_length(hash) BETWEEN 16 AND 64)
);
CREATE INDEX feeds_order ON feeds (workshop_id, order_id);

CREATE TABLE reminder_rules (
    workshop_id uuid        NOT NULL,
    id          uuid        NOT NULL,
    version     bigint      NOT NULL,
    created_at  timestamptz NOT NULL,
    changed_at  timestamptz NOT NULL,
    person_id   uuid        NOT NULL,
    name        text        NOT NULL,
    cron        text        NOT NULL,
    kind        text        NOT NULL,
    lead_days   bigint      NOT NULL,
    off         boolean     NOT NULL,
    CONSTRAINT reminder_rules_pkey PRIMARY KEY (workshop_id, id),
    CONSTRAINT reminder_rules__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT reminder_rules__person_id FOREIGN KEY (workshop_id, person_id) REFERENCES people ON DELETE CASCADE,
    CONSTRAINT reminder_rules__version CHECK (version >= 1),
    CONSTRAINT reminder_rules__name CHECK (ripeline_line(name, 0, 200)),
    CONSTRAINT reminder_rules__cron CHECK (ripeline_line(cron, 1, 200)),
    CONSTRAINT reminder_rules__kind CHECK (kind IN ('trial', 'make', 'cut', 'cure', 'wrap', 'hand_over', 'supplies')),
    CONSTRAINT reminder_rules__lead_days CHECK (lead_days BETWEEN 0 AND 365)
);
CREATE INDEX reminder_rules_person ON reminder_rules (workshop_id, person_id);

CREATE TABLE deliveries (
    workshop_id uuid        NOT NULL,
    id          uuid        NOT NULL,
    person_id   uuid        NOT NULL,
    kind        text        NOT NULL,
    local_date  date        NOT NULL,
    slot        text        NOT NULL,
    due_at      timestamptz NOT NULL,
    status      text        NOT NULL,
    subject     text        NOT NULL,
    text        text        NOT NULL,
    html        text        NOT NULL,
    message_id  text        NOT NULL,
    attempts    bigint      NOT NULL,
    next_try    timestamptz NOT NULL,
    last_error  text        NOT NULL,
    done_at     timestamptz,
    CONSTRAINT deliveries_pkey PRIMARY KEY (workshop_id, id),
    CONSTRAINT deliveries__slot UNIQUE (workshop_id, person_id, local_date, kind, slot),
    CONSTRAINT deliveries__workshop_id FOREIGN KEY (workshop_id) REFERENCES workshops ON DELETE CASCADE,
    CONSTRAINT deliveries__person_id FOREIGN KEY (workshop_id, person_id) REFERENCES people ON DELETE CASCADE,
    CONSTRAINT deliveries__kind CHECK (ripeline_line(kind, 1, 100)),
    CONSTRAINT deliveries__slot_text CHECK (ripeline_line(slot, 0, 100)),
    CONSTRAINT deliveries__status CHECK (CASE
        WHEN status = 'due' THEN done_at IS NULL
        WHEN status IN ('sent', 'shown', 'folded', 'empty', 'failed') THEN done_at IS NOT NULL
        ELSE false END),
    CONSTRAINT deliveries__subject CHECK (ripeline_line(subject, 0, 1000)),
    CONSTRAINT deliveries__message_id CHECK (ripeline_line(message_id, 0, 500)),
    CONSTRAINT deliveries__attempts CHECK (attempts >= 0)
);
COMMENT ON TABLE deliveries IS
    'The outbox of reminders. While one is due, next_try is when it may be claimed; a claim moves it to the end of the lease.';
CREATE INDEX deliveries_due ON deliveries (next_try, id) WHERE status = 'due';
CREATE INDEX deliveries_newest ON deliveries (workshop_id, due_at, id);

CREATE TABLE sign_ins (
    id    uuid        NOT NULL DEFAULT gen_random_uuid(),
    at    timestamptz NOT NULL,
    email text        NOT NULL,
    addr  text        NOT NULL,
    ok    boolean     NOT NULL,
    CONSTRAINT sign_ins_pkey PRIMARY KEY (id),
    CONSTRAINT sign_ins__email CHECK (char_length(email) <= 320),
    CONSTRAINT sign_ins__addr CHECK (char_length(addr) <= 100)
);
COMMENT ON TABLE sign_ins IS 'For throttling only, so kept for a day.';
CREATE INDEX sign_ins_email ON sign_ins (email, at) WHERE NOT ok;
CREATE INDEX sign_ins_addr ON sign_ins (addr, at) WHERE NOT ok;
CREATE INDEX sign_ins_at ON sign_ins (at);

CREATE TABLE secrets (
    name  text  NOT NULL,
    value bytea NOT NULL,
    CONSTRAINT secrets_pkey PRIMARY KEY (name),
    CONSTRAINT secrets__name CHECK (ripeline_line(name, 1, 100))
);

CREATE TABLE sessions (
    token      text        NOT NULL,
    data       bytea       NOT NULL,
    expires_at timestamptz NOT NULL,
    CONSTRAINT sessions_pkey PRIMARY KEY (token)
);
COMMENT ON COLUMN sessions.token IS 'The hash of what the cookie holds.';
CREATE INDEX sessions_expiry ON sessions (expires_at);
