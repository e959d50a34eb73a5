-- Why: one workshop must never see or change another's rows, even if a query
-- forgets to say whose rows it wants. Row-level security holds below the
-- program, and FORCE makes it hold for the tables' owner too.
--
-- A transaction names its workshop in the setting ripeline.workshop; without
-- it there is nothing to see. What has to find the workshop first (signing in,
-- a token, the reminder loop) sets ripeline.scope to 'system' instead: that
-- opens only the tables named below, and only for reading; claiming a delivery
-- is the one change. To write anything else it must name the workshop.

-- +goose Up

-- +goose StatementBegin
CREATE FUNCTION ripeline_workshop() RETURNS uuid
    LANGUAGE sql STABLE PARALLEL SAFE
    RETURN nullif(current_setting('ripeline.workshop', true), '')::uuid;

CREATE FUNCTION ripeline_system() RETURNS boolean
    LANGUAGE sql STABLE PARALLEL SAFE
    RETURN coalesce(current_setting('ripeline.scope', true), '') = 'system';

CREATE FUNCTION ripeline_guard_table(guarded regclass) RETURNS void LANGUAGE plpgsql AS $$
DECLARE
    key text := CASE WHEN guarded = 'workshops'::regclass THEN 'id' ELSE 'workshop_id' END;
BEGIN
    EXECUTE format('ALTER TABLE %s ENABLE ROW LEVEL SECURITY', guarded);
    EXECUTE format('ALTER TABLE %s FORCE ROW LEVEL SECURITY', guarded);
    EXECUTE format('CREATE POLICY own_workshop ON %s USING (%I = (SELECT ripeline_workshop()))', guarded, key);
END $$;

DO $$
DECLARE
    found regclass;
BEGIN
    PERFORM ripeline_guard_table('workshops');
    FOR found IN SELECT a.attrelid::regclass
                 FROM pg_attribute a JOIN pg_class c ON c.oid = a.attrelid
                 WHERE a.attname = 'workshop_id' AND c.relkind = 'r' AND c.relnamespace = current_schema()::regnamespace
                 ORDER BY c.relname
    LOOP
        PERFORM ripeline_guard_table(found);
    END LOOP;
END $$;
-- +goose StatementEnd

CREATE POLICY system_reads ON workshops FOR SELECT USING ((SELECT ripeline_system()));
CREATE POLICY system_reads ON people FOR SELECT USING ((SELECT ripeline_system()));
CREATE POLICY system_reads ON api_tokens FOR SELECT USING ((SELECT ripeline_system()));
CREATE POLICY system_reads ON feeds FOR SELECT USING ((SELECT ripeline_system()));
CREATE POLICY system_reads ON deliveries FOR SELECT USING ((SELECT ripeline_system()));
CREATE POLICY system_claims ON deliveries FOR UPDATE USING ((SELECT ripeline_system()));
