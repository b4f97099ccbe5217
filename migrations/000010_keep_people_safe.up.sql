-- Who may come in, what people agreed to, what is forgotten and when. The role
-- ropewalk_erasure exists already: store.EnsureRoles. It alone may change or
-- delete facts, and the app takes it on for one transaction at a time.
BEGIN;
SET LOCAL lock_timeout = '5s';

GRANT USAGE ON SCHEMA public TO ropewalk_erasure;

-- From here on the erasure role stands beside the app's, bound by the same wall.
CREATE OR REPLACE FUNCTION guard(guarded regclass) RETURNS void LANGUAGE plpgsql AS $$
BEGIN
    EXECUTE format('ALTER TABLE %s ENABLE ROW LEVEL SECURITY', guarded);
    EXECUTE format('ALTER TABLE %s FORCE ROW LEVEL SECURITY', guarded);
    EXECUTE format($p$CREATE POLICY own_gym ON %s TO ropewalk_app, ropewalk_erasure
        USING (gym_id = NULLIF(current_setting('ropewalk.gym', true), '')::uuid)
        WITH CHECK (gym_id = NULLIF(current_setting('ropewalk.gym', true), '')::uuid)$p$, guarded);
    EXECUTE format('GRANT SELECT, INSERT ON %s TO ropewalk_app', guarded);
    EXECUTE format('GRANT SELECT, UPDATE, DELETE ON %s TO ropewalk_erasure', guarded);
    EXECUTE format('GRANT SELECT ON %s TO ropewalk_backup', guarded);
END $$;

DO $$
DECLARE
    one regclass;
BEGIN
    FOR one IN SELECT polrelid FROM pg_policy WHERE polname = 'own_gym' LOOP
        EXECUTE format('ALTER POLICY own_gym ON %s TO ropewalk_app, ropewalk_erasure', one);
    END LOOP;
    FOR one IN SELECT oid FROM pg_class
        WHERE relnamespace = 'public'::regnamespace AND relkind IN ('r', 'p') AND relname <> 'schema_migrations' LOOP
        EXECUTE format('GRANT SELECT, UPDATE, DELETE ON %s TO ropewalk_erasure', one);
    END LOOP;
END $$;

-- What is forgotten by itself is forgotten in every gym.
CREATE POLICY every_gym ON gym FOR SELECT TO ropewalk_erasure USING (true);

-- How long things are kept, and whether staff need a second factor yet.
ALTER TABLE gym
    ADD COLUMN second_factor_postponed boolean NOT NULL DEFAULT false,
    ADD COLUMN keep_athlete_months  smallint NOT NULL DEFAULT 24 CHECK (keep_athlete_months BETWEEN 1 AND 120),  -- after the last activity
    ADD COLUMN keep_health_months   smallint NOT NULL DEFAULT 12 CHECK (keep_health_months BETWEEN 6 AND 120),   -- what hurt, where and how
    ADD COLUMN keep_incident_months smallint NOT NULL DEFAULT 36 CHECK (keep_incident_months BETWEEN 1 AND 300),
    ADD COLUMN keep_audit_months    smallint NOT NULL DEFAULT 24 CHECK (keep_audit_months BETWEEN 6 AND 120);
GRANT UPDATE (second_factor_postponed, keep_athlete_months, keep_health_months, keep_incident_months, keep_audit_months) ON gym TO ropewalk_app;

-- A sign-in is looked at once a request: whose it is, when it was last used. It
-- is marked when it ends, so that a late write cannot bring it back.
ALTER TABLE sign_in
    ADD COLUMN role         text NOT NULL DEFAULT '',
    ADD COLUMN label        text NOT NULL DEFAULT '',             -- the kind of browser, as it says itself
    ADD COLUMN began_at     timestamptz NOT NULL DEFAULT now(),
    ADD COLUMN seen_at      timestamptz NOT NULL DEFAULT now(),   -- to five minutes
    ADD COLUMN idle_seconds integer CHECK (idle_seconds > 0),     -- unused for longer, it ends; null: it does not
    ADD COLUMN ended_at     timestamptz;
UPDATE sign_in SET role = coalesce(convert_from(data, 'UTF8')::json -> 'Values' ->> 'role', '');

-- Global: the second factor of a person, as an app on a phone computes it.
CREATE TABLE second_factor (
    person_id    uuid        PRIMARY KEY REFERENCES person,
    secret       text        NOT NULL,                  -- base32, RFC 6238
    made_at      timestamptz NOT NULL,
    confirmed_at timestamptz,                           -- null: shown, and not yet proved
    last_step    bigint      NOT NULL DEFAULT 0         -- the newest half minute whose code was used
);
GRANT SELECT, INSERT, DELETE ON second_factor TO ropewalk_app;
GRANT UPDATE (secret, made_at, confirmed_at, last_step) ON second_factor TO ropewalk_app;
GRANT SELECT ON second_factor TO ropewalk_backup;

-- Global: codes on paper for a lost second factor, hashed, one use each.
CREATE TABLE recovery_code (
    person_id uuid        NOT NULL REFERENCES person,
    code_hash bytea       NOT NULL,
    made_at   timestamptz NOT NULL,
    used_at   timestamptz,
    PRIMARY KEY (person_id, code_hash)
);
GRANT SELECT, INSERT, DELETE ON recovery_code TO ropewalk_app;
GRANT UPDATE (used_at) ON recovery_code TO ropewalk_app;
GRANT SELECT ON recovery_code TO ropewalk_backup;

-- Global: browsers in which a person came in before. Their wrong tries are
-- counted apart, so that strangers cannot lock anybody out.
CREATE TABLE known_browser (
    token_hash bytea       PRIMARY KEY,
    person_id  uuid        NOT NULL REFERENCES person,
    expires_at timestamptz NOT NULL
);
GRANT SELECT, INSERT, DELETE ON known_browser TO ropewalk_app;
CREATE INDEX known_browser_by_person ON known_browser (person_id);

-- Global: a code that an owner hands to somebody who is locked out.
CREATE TABLE way_back (
    code_hash  bytea       PRIMARY KEY,
    person_id  uuid        NOT NULL REFERENCES person,
    gym_id     uuid        NOT NULL REFERENCES gym,
    made_by    uuid        NOT NULL,
    made_at    timestamptz NOT NULL,
    expires_at timestamptz NOT NULL,
    used_at    timestamptz
);
GRANT SELECT, INSERT, DELETE ON way_back TO ropewalk_app;
GRANT UPDATE (used_at) ON way_back TO ropewalk_app;
CREATE INDEX way_back_by_person ON way_back (person_id);

-- Somebody is asked to work in the gym.
CREATE TABLE invitation (
    gym_id        uuid        NOT NULL REFERENCES gym,
    invitation_id uuid        NOT NULL,
    name          text        NOT NULL CHECK (name <> ''),
    role          text        NOT NULL CHECK (role IN ('owner', 'coach', 'assistant')),
    made_at       timestamptz NOT NULL,
    made_by       uuid        NOT NULL,
    expires_at    timestamptz NOT NULL,
    used_at       timestamptz,
    used_by       uuid,
    taken_back_at timestamptz,
    PRIMARY KEY (gym_id, invitation_id)
);
SELECT guard('invitation');
GRANT UPDATE (used_at, used_by, taken_back_at) ON invitation TO ropewalk_app;

-- Global: leads from an invitation's code to the gym, before anyone is known.
CREATE TABLE invitation_code (
    code_hash     bytea PRIMARY KEY,
    gym_id        uuid  NOT NULL,
    invitation_id uuid  NOT NULL,
    FOREIGN KEY (gym_id, invitation_id) REFERENCES invitation
);
GRANT SELECT, INSERT, DELETE ON invitation_code TO ropewalk_app;

-- A guardian who has an account too, as coach of another gym.
ALTER TABLE guardian ADD COLUMN person_id uuid REFERENCES person;
GRANT UPDATE (person_id) ON guardian TO ropewalk_app;
CREATE INDEX guardian_by_person ON guardian (gym_id, person_id) WHERE person_id IS NOT NULL;

-- What a consent is for.
ALTER TABLE consent ADD COLUMN purpose text NOT NULL DEFAULT 'records' CHECK (purpose IN ('records', 'phone'));
DROP INDEX consent_by_athlete;
CREATE INDEX consent_by_athlete ON consent (gym_id, athlete_id, purpose, noted_at DESC);

-- A guardian learned of something, on the own page or by word of mouth.
CREATE TABLE guardian_told (
    gym_id      uuid        NOT NULL,
    told_id     uuid        NOT NULL,
    athlete_id  uuid        NOT NULL,
    about       text        NOT NULL CHECK (about IN ('hold', 'incident')),
    about_id    uuid        NOT NULL,
    guardian_id uuid,                                   -- who read it on the own page
    how         text        NOT NULL CHECK (how IN ('page', 'spoken')),
    at          timestamptz NOT NULL,
    by          uuid        NOT NULL,
    PRIMARY KEY (gym_id, told_id),
    FOREIGN KEY (gym_id, athlete_id) REFERENCES athlete,
    FOREIGN KEY (gym_id, guardian_id) REFERENCES guardian
);
SELECT guard('guardian_told');
CREATE INDEX guardian_told_by_athlete ON guardian_told (gym_id, athlete_id, at DESC);

-- The questions before the first session. A new row takes the place of the old.
CREATE TABLE health_answer (
    gym_id      uuid        NOT NULL,
    answer_id   uuid        NOT NULL,
    athlete_id  uuid        NOT NULL,
    yes         text[]      NOT NULL,                   -- keys of the questions that were answered with yes
    note        text        NOT NULL DEFAULT '',
    answered_at timestamptz NOT NULL,
    answered_by uuid        NOT NULL,
    PRIMARY KEY (gym_id, answer_id),
    FOREIGN KEY (gym_id, athlete_id) REFERENCES athlete
);
SELECT guard('health_answer');
CREATE INDEX health_answer_by_athlete ON health_answer (gym_id, athlete_id, answered_at DESC);

-- A coach talked with the athlete or the guardian about the answers.
CREATE TABLE health_talk (
    gym_id     uuid        NOT NULL,
    talk_id    uuid        NOT NULL,
    athlete_id uuid        NOT NULL,
    note       text        NOT NULL DEFAULT '',
    at         timestamptz NOT NULL,
    by         uuid        NOT NULL,
    PRIMARY KEY (gym_id, talk_id),
    FOREIGN KEY (gym_id, athlete_id) REFERENCES athlete
);
SELECT guard('health_talk');
CREATE INDEX health_talk_by_athlete ON health_talk (gym_id, athlete_id, at DESC);

-- Somebody is to be forgotten. The row stays as the sign that it was done, and
-- so that an older backup cannot bring anybody back; it holds no name.
CREATE TABLE erasure (
    gym_id     uuid        NOT NULL REFERENCES gym,
    erasure_id uuid        NOT NULL,
    about      text        NOT NULL CHECK (about IN ('athlete', 'person')), -- person: who worked here
    about_id   uuid        NOT NULL,
    asked_for  text        NOT NULL CHECK (asked_for IN ('athlete', 'guardian', 'gym', 'time')), -- who wants it; time: the gym's own rule
    asked_at   timestamptz NOT NULL,
    asked_by   uuid        NOT NULL,
    keep_incidents boolean NOT NULL DEFAULT false,      -- where law or an insurer obliges the gym to
    due_at     timestamptz NOT NULL,
    undone_at  timestamptz,
    undone_by  uuid,
    done_at    timestamptz,
    report     jsonb       NOT NULL DEFAULT '{}',       -- rows by table
    PRIMARY KEY (gym_id, erasure_id)
);
SELECT guard('erasure');
GRANT UPDATE (undone_at, undone_by, done_at, report) ON erasure TO ropewalk_app;
CREATE UNIQUE INDEX erasure_once ON erasure (gym_id, about_id) WHERE undone_at IS NULL AND done_at IS NULL;

-- What the gym's own rules removed, without saying whose it was.
CREATE TABLE purge (
    gym_id   uuid        NOT NULL REFERENCES gym,
    purge_id uuid        NOT NULL,
    at       timestamptz NOT NULL,
    what     text        NOT NULL CHECK (what IN ('athletes', 'health', 'incidents', 'audit')),
    rows     integer     NOT NULL CHECK (rows > 0),
    PRIMARY KEY (gym_id, purge_id)
);
SELECT guard('purge');
CREATE INDEX purge_by_time ON purge (gym_id, at DESC);

CREATE INDEX audit_by_subject ON audit (gym_id, subject_id, at DESC) WHERE subject_id IS NOT NULL;

DO $$
DECLARE
    one regclass;
BEGIN
    FOREACH one IN ARRAY ARRAY['second_factor', 'recovery_code', 'known_browser', 'way_back', 'invitation_code']::regclass[] LOOP
        EXECUTE format('GRANT SELECT, UPDATE, DELETE ON %s TO ropewalk_erasure', one);
    END LOOP;
END $$;

COMMIT;
