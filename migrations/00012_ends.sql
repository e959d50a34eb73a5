-- Why: a token for a program may end by itself. Reminders that ended long ago are
-- deleted: the reminder loop may do so in every workshop, and only with those.

-- +goose Up

ALTER TABLE api_tokens ADD COLUMN expires_at timestamptz;
COMMENT ON COLUMN api_tokens.expires_at IS 'It works until then; null: until it is revoked.';

CREATE INDEX deliveries_done ON deliveries (done_at) WHERE done_at IS NOT NULL;
CREATE POLICY system_prunes ON deliveries FOR DELETE USING ((SELECT ripeline_system()) AND done_at IS NOT NULL);
