-- Gyms, the people who work in them, sign-ins, and the guard that every
-- gym-owned table passes through. The roles exist already: store.EnsureRoles.
BEGIN;
SET LOCAL lock_timeout = '5s';

-- guard puts a table under row-level security by gym, for its owner too, and
-- lets the app role read and add rows. More rights are granted one by one.
CREATE FUNCTION guard(guarded regclass) RETURNS void LANGUAGE plpgsql AS $$
BEGIN
    EXECUTE format('ALTER TABLE %s ENABLE ROW LEVEL SECURITY', guarded);
    EXECUTE format('ALTER TABLE %s FORCE ROW LEVEL SECURITY', guarded);
    EXECUTE format($p$CREATE POLICY own_gym ON %s TO ropewalk_app
        USING (gym_id = NULLIF(current_setting('ropewalk.gym', true), '')::uuid)
        WITH CHECK (gym_id = NULLIF(current_setting('ropewalk.gym', true), '')::uuid)$p$, guarded);
    EXECUTE format('GRANT SELECT, INSERT ON %s TO ropewalk_app', guarded);
    EXECUTE format('GRANT SELECT ON %s TO ropewalk_backup', guarded);
END $$;
REVOKE ALL ON FUNCTION guard(regclass) FROM PUBLIC;

CREATE TABLE gym (
    gym_id     uuid        PRIMARY KEY,
    name       text        NOT NULL CHECK (name <> ''),
    time_zone  text        NOT NULL,                    -- IANA name; days and weeks are the gym's
    invented   boolean     NOT NULL DEFAULT false,      -- a demo gym
    adult_age  smallint    NOT NULL DEFAULT 16,         -- younger ones jump with an adult present
    created_at timestamptz NOT NULL
);
SELECT guard('gym');
GRANT UPDATE (name, time_zone, adult_age) ON gym TO ropewalk_app;

-- Global: a person may work in several gyms. Athletes are not here; they
-- belong to one gym and have no account of this kind.
CREATE TABLE person (
    person_id     uuid        PRIMARY KEY,
    sign_in_name  text        NOT NULL UNIQUE,          -- folded, shaped like a mail address
    name          text        NOT NULL CHECK (name <> ''),
    lang          text        NOT NULL DEFAULT '',
    password_hash text        NOT NULL,                 -- argon2id, PHC string
    created_at    timestamptz NOT NULL
);
GRANT SELECT, INSERT ON person TO ropewalk_app;
GRANT UPDATE (name, lang, password_hash) ON person TO ropewalk_app;
GRANT SELECT ON person TO ropewalk_backup;

CREATE TABLE membership (
    gym_id    uuid        NOT NULL REFERENCES gym,
    person_id uuid        NOT NULL REFERENCES person,
    role      text        NOT NULL CHECK (role IN ('owner', 'coach', 'assistant', 'guardian')),
    since     timestamptz NOT NULL,
    until     timestamptz,                              -- set when it ends; rows stay
    PRIMARY KEY (gym_id, person_id, role)
);
SELECT guard('membership');
GRANT UPDATE (until) ON membership TO ropewalk_app;
-- At sign-in no gym is chosen yet: a person may see her own memberships.
CREATE POLICY own_person ON membership FOR SELECT TO ropewalk_app
    USING (person_id = NULLIF(current_setting('ropewalk.person', true), '')::uuid);
CREATE INDEX membership_by_person ON membership (person_id);

-- Global: web sign-ins. The token itself is never stored.
CREATE TABLE sign_in (
    token_hash bytea       PRIMARY KEY,
    data       bytea       NOT NULL,
    expires_at timestamptz NOT NULL,
    person_id  uuid,
    athlete_id uuid,
    gym_id     uuid
);
CREATE INDEX sign_in_by_person ON sign_in (person_id) WHERE person_id IS NOT NULL;
CREATE INDEX sign_in_by_athlete ON sign_in (gym_id, athlete_id) WHERE athlete_id IS NOT NULL;
CREATE INDEX sign_in_by_expiry ON sign_in (expires_at);
GRANT SELECT, INSERT, UPDATE, DELETE ON sign_in TO ropewalk_app;

-- Global: wrong tries at a sign-in, so that replicas and restarts share the count.
CREATE TABLE wrong_try (
    subject    text        PRIMARY KEY,                 -- what is being tried, hashed
    tries      integer     NOT NULL,
    blocked_to timestamptz NOT NULL,
    last_at    timestamptz NOT NULL
);
GRANT SELECT, INSERT, UPDATE, DELETE ON wrong_try TO ropewalk_app;

-- Global: the one-time code that makes the first owner, hashed.
CREATE TABLE first_code (
    code_hash  bytea       PRIMARY KEY,
    made_at    timestamptz NOT NULL,
    expires_at timestamptz NOT NULL,
    used_at    timestamptz
);
GRANT SELECT, INSERT, DELETE ON first_code TO ropewalk_app;
GRANT UPDATE (used_at) ON first_code TO ropewalk_app;

COMMIT;
