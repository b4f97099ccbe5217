BEGIN;
SET LOCAL lock_timeout = '5s';

DROP INDEX audit_by_subject;
DROP TABLE purge, erasure, health_talk, health_answer, guardian_told, invitation_code, invitation, way_back, known_browser, recovery_code, second_factor;

DROP INDEX consent_by_athlete;
CREATE INDEX consent_by_athlete ON consent (gym_id, athlete_id, noted_at DESC);
ALTER TABLE consent DROP COLUMN purpose;
DROP INDEX guardian_by_person;
ALTER TABLE guardian DROP COLUMN person_id;

DELETE FROM sign_in WHERE ended_at IS NOT NULL;
ALTER TABLE sign_in
    DROP COLUMN role, DROP COLUMN label, DROP COLUMN began_at, DROP COLUMN seen_at, DROP COLUMN idle_seconds, DROP COLUMN ended_at;
ALTER TABLE gym
    DROP COLUMN second_factor_postponed, DROP COLUMN keep_athlete_months, DROP COLUMN keep_health_months,
    DROP COLUMN keep_incident_months, DROP COLUMN keep_audit_months;

DROP POLICY every_gym ON gym;
DO $$
DECLARE
    one regclass;
BEGIN
    FOR one IN SELECT oid FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind IN ('r', 'p') LOOP
        EXECUTE format('REVOKE ALL ON %s FROM ropewalk_erasure', one);
    END LOOP;
    FOR one IN SELECT polrelid FROM pg_policy WHERE polname = 'own_gym' LOOP
        EXECUTE format('ALTER POLICY own_gym ON %s TO ropewalk_app', one);
    END LOOP;
END $$;
CREATE OR REPLACE FUNCTION guard(guarded regclass) RETURNS void LANGUAGE plpgsql AS $$
BEGIN
    EXECUTE format('ALTER TABLE %s ENABLE ROW LEVEL SECURITY', guarded);
    EXECUTE format('ALTER TABLE %s FORCE ROW LEVEL SECURITY', guarded);
    EXECUTE format($p$CREATE POLICY own_gym ON %s TO ropewalk_app
        USING (gym_id = NULLIF(current_setting('ropewalk.gym', true), '')::uuid)
        WITH CHECK (gym_id = NULLIF(current_setting('ropewalk.gym', true), '')::uuid)$p$, guarded);
    EXECUTE format('GRANT SELECT, INSERT ON %s TO ropewalk_app', guarded);
    EXECUTE format('GRANT SELECT ON %s TO ropewalk_backup', guarded);
END $$;
REVOKE USAGE ON SCHEMA public FROM ropewalk_erasure;

COMMIT;
