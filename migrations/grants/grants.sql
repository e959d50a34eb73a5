-- Applied at every start, under a lock, after the migrations.
--
-- ripeline_app is the service's role where owner and service are two.
-- ripeline_guard is for the case of one role for everything that row-level
-- security does not bind (a superuser, or BYPASSRLS): the service then steps
-- down to it in each transaction. Neither has to exist.
DO $$
DECLARE
    me      pg_roles;
    grantee text;
BEGIN
    SELECT * INTO STRICT me FROM pg_roles WHERE rolname = current_user;
    IF me.rolsuper OR me.rolbypassrls THEN
        BEGIN
            IF to_regrole('ripeline_guard') IS NULL THEN
                CREATE ROLE ripeline_guard NOLOGIN;
            END IF;
            IF NOT pg_has_role('ripeline_guard', 'MEMBER') THEN
                GRANT ripeline_guard TO CURRENT_USER;
            END IF;
        EXCEPTION
            -- Another database of this server may be doing the same now.
            WHEN duplicate_object OR unique_violation THEN NULL;
            WHEN insufficient_privilege THEN
                RAISE NOTICE 'may not create the role ripeline_guard; the service will refuse to start as %', current_user;
        END;
    END IF;

    FOR grantee IN SELECT rolname FROM pg_roles
                   WHERE rolname IN ('ripeline_app', 'ripeline_guard') AND rolname <> current_user
    LOOP
        EXECUTE format('GRANT USAGE ON SCHEMA %I TO %I', current_schema(), grantee);
        EXECUTE format('GRANT SELECT, INSERT, UPDATE, DELETE ON ALL TABLES IN SCHEMA %I TO %I', current_schema(), grantee);
        EXECUTE format('REVOKE UPDATE, DELETE ON journal FROM %I', grantee);
        EXECUTE format('REVOKE INSERT, UPDATE, DELETE ON goose_db_version FROM %I', grantee);
    END LOOP;
END $$;
