-- Ladders and where athletes stand, plans, and what happened.
BEGIN;
SET LOCAL lock_timeout = '5s';

CREATE TABLE ladder (
    gym_id     uuid        NOT NULL REFERENCES gym,
    ladder_id  uuid        NOT NULL,
    name       text        NOT NULL CHECK (name <> ''),
    in_use     boolean     NOT NULL DEFAULT false,
    created_at timestamptz NOT NULL,
    PRIMARY KEY (gym_id, ladder_id)
);
SELECT guard('ladder');
GRANT UPDATE (name, in_use) ON ladder TO ropewalk_app;
CREATE UNIQUE INDEX ladder_in_use ON ladder (gym_id) WHERE in_use;

-- Editing a ladder publishes a new version; old ones stay.
CREATE TABLE ladder_version (
    gym_id       uuid        NOT NULL,
    ladder_id    uuid        NOT NULL,
    version      integer     NOT NULL CHECK (version > 0),
    published_at timestamptz NOT NULL,
    published_by uuid,                                  -- null: shipped with the program
    PRIMARY KEY (gym_id, ladder_id, version),
    FOREIGN KEY (gym_id, ladder_id) REFERENCES ladder
);
SELECT guard('ladder_version');

CREATE TABLE stage (
    gym_id    uuid    NOT NULL,
    ladder_id uuid    NOT NULL,
    version   integer NOT NULL,
    number    integer NOT NULL CHECK (number > 0),
    key       text    NOT NULL CHECK (key <> ''),       -- stays when the stage is renamed or moved
    title     text    NOT NULL CHECK (title <> ''),
    body      jsonb   NOT NULL,                         -- the stage as package ladder reads it
    PRIMARY KEY (gym_id, ladder_id, version, number),
    UNIQUE (gym_id, ladder_id, version, key),
    FOREIGN KEY (gym_id, ladder_id, version) REFERENCES ladder_version
);
SELECT guard('stage');

-- The coach's word on where an athlete stands; kept for ever.
CREATE TABLE stage_decision (
    gym_id      uuid        NOT NULL,
    decision_id uuid        NOT NULL,
    athlete_id  uuid        NOT NULL,
    verdict     text        NOT NULL CHECK (verdict IN ('start', 'up', 'stay', 'down', 'back')),
    stage_from  text        NOT NULL DEFAULT '',
    stage_to    text        NOT NULL,
    ladder_id   uuid        NOT NULL,
    version     integer     NOT NULL,
    reason      text        NOT NULL DEFAULT '',
    evidence    jsonb       NOT NULL DEFAULT '[]',      -- clause by clause, as it stood
    takes_back  uuid,                                   -- the decision that this one undoes
    decided_on  date        NOT NULL,
    decided_at  timestamptz NOT NULL,
    decided_by  uuid        NOT NULL,
    PRIMARY KEY (gym_id, decision_id),
    FOREIGN KEY (gym_id, athlete_id) REFERENCES athlete,
    FOREIGN KEY (gym_id, ladder_id, version) REFERENCES ladder_version,
    FOREIGN KEY (gym_id, takes_back) REFERENCES stage_decision
);
SELECT guard('stage_decision');
CREATE INDEX stage_decision_by_athlete ON stage_decision (gym_id, athlete_id, decided_at DESC);
CREATE UNIQUE INDEX stage_decision_taken_back_once ON stage_decision (gym_id, takes_back) WHERE takes_back IS NOT NULL;

-- A plan keeps its inputs and the rules that fired, so that it can be
-- explained and computed again.
CREATE TABLE plan (
    gym_id     uuid        NOT NULL,
    plan_id    uuid        NOT NULL,
    athlete_id uuid        NOT NULL,
    class_id   uuid        NOT NULL,
    session_id uuid,
    day        date        NOT NULL,
    input      json        NOT NULL,                    -- planner.Input, byte for byte
    output     json        NOT NULL,                    -- planner.Plan, byte for byte
    made_at    timestamptz NOT NULL,
    made_by    uuid        NOT NULL,
    sent_at    timestamptz,                             -- when the athlete may see it
    PRIMARY KEY (gym_id, plan_id),
    FOREIGN KEY (gym_id, athlete_id) REFERENCES athlete,
    FOREIGN KEY (gym_id, class_id) REFERENCES class,
    FOREIGN KEY (gym_id, session_id) REFERENCES session
);
SELECT guard('plan');
GRANT UPDATE (sent_at) ON plan TO ropewalk_app;
CREATE INDEX plan_by_athlete ON plan (gym_id, athlete_id, day DESC, made_at DESC);
CREATE INDEX plan_by_class ON plan (gym_id, class_id, day DESC, made_at DESC);

CREATE TABLE set_log (
    gym_id       uuid        NOT NULL,
    set_log_id   uuid        NOT NULL,
    athlete_id   uuid        NOT NULL,
    plan_id      uuid        NOT NULL,
    set_number   smallint    NOT NULL CHECK (set_number > 0),
    bursts       smallint    NOT NULL DEFAULT 0 CHECK (bursts >= 0),
    clean_bursts smallint    NOT NULL DEFAULT 0 CHECK (clean_bursts BETWEEN 0 AND bursts),
    catches_steady smallint  NOT NULL DEFAULT 0 CHECK (catches_steady >= 0),
    catches_burst  smallint  NOT NULL DEFAULT 0 CHECK (catches_burst >= 0),
    shortened    boolean     NOT NULL DEFAULT false,
    done_at      timestamptz NOT NULL,
    recorded_at  timestamptz NOT NULL,
    recorded_by  uuid        NOT NULL,
    PRIMARY KEY (gym_id, set_log_id),
    FOREIGN KEY (gym_id, athlete_id) REFERENCES athlete,
    FOREIGN KEY (gym_id, plan_id) REFERENCES plan
);
SELECT guard('set_log');
CREATE INDEX set_log_by_plan ON set_log (gym_id, plan_id);

-- How a session went for one athlete: work done, effort, pain. A correction
-- is a new row that points at the old one.
CREATE TABLE debrief (
    gym_id       uuid        NOT NULL,
    debrief_id   uuid        NOT NULL,
    athlete_id   uuid        NOT NULL,
    plan_id      uuid,
    session_id   uuid,
    day          date        NOT NULL,
    sets_done    smallint    CHECK (sets_done >= 0),
    bursts       smallint    CHECK (bursts >= 0),
    clean_bursts smallint    CHECK (clean_bursts >= 0),
    catches      smallint    CHECK (catches >= 0),
    contacts     integer     CHECK (contacts >= 0),
    minutes      double precision CHECK (minutes BETWEEN 0 AND 600),
    effort       smallint    CHECK (effort BETWEEN 0 AND 10),
    pain         smallint    NOT NULL DEFAULT 0 CHECK (pain BETWEEN 0 AND 10),
    pain_place   text        NOT NULL DEFAULT '',
    pain_signs   text[]      NOT NULL DEFAULT '{}',     -- sharp, limping, worsening, night, bone
    note         text        NOT NULL DEFAULT '',
    corrects     uuid,
    recorded_at  timestamptz NOT NULL,
    recorded_by  uuid        NOT NULL,
    PRIMARY KEY (gym_id, debrief_id),
    FOREIGN KEY (gym_id, athlete_id) REFERENCES athlete,
    FOREIGN KEY (gym_id, plan_id) REFERENCES plan,
    FOREIGN KEY (gym_id, session_id) REFERENCES session,
    FOREIGN KEY (gym_id, corrects) REFERENCES debrief
);
SELECT guard('debrief');
CREATE INDEX debrief_by_athlete ON debrief (gym_id, athlete_id, day DESC, recorded_at DESC);
CREATE UNIQUE INDEX debrief_corrected_once ON debrief (gym_id, corrects) WHERE corrects IS NOT NULL;

-- Pain holds: opened by a debrief or a coach, released by a coach only.
CREATE TABLE hold (
    gym_id     uuid        NOT NULL,
    hold_id    uuid        NOT NULL,
    athlete_id uuid        NOT NULL,
    opened     boolean     NOT NULL,                    -- false: the release of an earlier one
    code       text        NOT NULL,                    -- why, as package progress names it
    reason     text        NOT NULL DEFAULT '',         -- the coach's words on release
    debrief_id uuid,
    at         timestamptz NOT NULL,
    day        date        NOT NULL,
    by         uuid        NOT NULL,
    PRIMARY KEY (gym_id, hold_id),
    FOREIGN KEY (gym_id, athlete_id) REFERENCES athlete,
    FOREIGN KEY (gym_id, debrief_id) REFERENCES debrief
);
SELECT guard('hold');
CREATE INDEX hold_by_athlete ON hold (gym_id, athlete_id, at DESC);

-- What people did, for the owner; only ever added to.
CREATE TABLE audit (
    gym_id     uuid        NOT NULL REFERENCES gym,
    audit_id   uuid        NOT NULL,
    at         timestamptz NOT NULL,
    by         uuid        NOT NULL,
    action     text        NOT NULL,
    subject    text        NOT NULL,                    -- kind of thing
    subject_id uuid,
    detail     jsonb       NOT NULL DEFAULT '{}',
    PRIMARY KEY (gym_id, audit_id)
);
SELECT guard('audit');
CREATE INDEX audit_by_time ON audit (gym_id, at DESC);

COMMIT;
