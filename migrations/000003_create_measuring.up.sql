-- Meetings of a class, who was there, and what was counted.
BEGIN;
SET LOCAL lock_timeout = '5s';

CREATE TABLE session (
    gym_id     uuid        NOT NULL REFERENCES gym,
    session_id uuid        NOT NULL,
    class_id   uuid        NOT NULL,
    day        date        NOT NULL,                    -- on the gym's calendar
    starts_at  timestamptz NOT NULL,
    minutes    smallint    NOT NULL CHECK (minutes BETWEEN 10 AND 240),
    note       text        NOT NULL DEFAULT '',
    opened_at  timestamptz,                             -- check-in began
    closed_at  timestamptz,                             -- the class was logged
    PRIMARY KEY (gym_id, session_id),
    UNIQUE (gym_id, class_id, starts_at),
    FOREIGN KEY (gym_id, class_id) REFERENCES class
);
SELECT guard('session');
GRANT UPDATE (note, opened_at, closed_at) ON session TO ropewalk_app;
CREATE INDEX session_by_day ON session (gym_id, day);

CREATE TABLE attendance (
    gym_id     uuid        NOT NULL,
    session_id uuid        NOT NULL,
    athlete_id uuid        NOT NULL,
    here       boolean     NOT NULL,
    noted_at   timestamptz NOT NULL,
    noted_by   uuid        NOT NULL,
    PRIMARY KEY (gym_id, session_id, athlete_id),
    FOREIGN KEY (gym_id, session_id) REFERENCES session,
    FOREIGN KEY (gym_id, athlete_id) REFERENCES athlete
);
SELECT guard('attendance');
GRANT UPDATE (here, noted_at, noted_by) ON attendance TO ropewalk_app;
CREATE INDEX attendance_by_athlete ON attendance (gym_id, athlete_id);

-- One measured attempt. Never changed: a correction is a new row that points
-- at the old one, a withdrawal is a correction marked void.
CREATE TABLE result (
    gym_id           uuid             NOT NULL,
    result_id        uuid             NOT NULL,         -- UUIDv7, made where it was counted
    athlete_id       uuid             NOT NULL,
    session_id       uuid,
    protocol         text             NOT NULL,         -- key of package rate's table
    day              date             NOT NULL,         -- on the gym's calendar
    taken_at         timestamptz      NOT NULL,
    rotations        integer          CHECK (rotations BETWEEN 0 AND 99999),
    seconds          double precision CHECK (seconds > 0),
    catches          integer          NOT NULL DEFAULT 0 CHECK (catches >= 0),
    lost_seconds     double precision CHECK (lost_seconds >= 0),       -- to catches, when timed
    longest_restart_seconds double precision CHECK (longest_restart_seconds >= 0),
    stopped_clean    boolean          NOT NULL DEFAULT false,          -- a run that the coach ended
    successes        integer          CHECK (successes >= 0),          -- of attempts, for tries
    attempts         integer          CHECK (attempts > 0),
    bouts            integer[],                         -- counts of a repeat-burst test
    rest_seconds     double precision,                  -- between bouts
    flight_seconds   double precision CHECK (flight_seconds > 0),
    taps             double precision[],                -- seconds from the start
    rotations_per_tap smallint        CHECK (rotations_per_tap IN (1, 2)),
    standard_error_rpm double precision,                -- of the tap estimate
    rpm_from_taps    double precision,
    step             text             NOT NULL DEFAULT 'bounce',
    rope_kind        text             NOT NULL DEFAULT '',
    rope_id          uuid,
    surface          text             NOT NULL DEFAULT '',
    counted_by       text             NOT NULL CHECK (counted_by IN ('self', 'partner', 'coach')),
    seen_by_coach    boolean          NOT NULL DEFAULT false,
    timing           text             NOT NULL DEFAULT 'hand' CHECK (timing IN ('app', 'hand')),
    note             text             NOT NULL DEFAULT '',
    kept_odd         boolean          NOT NULL DEFAULT false,          -- odd, asked, and kept
    corrects         uuid,
    void             boolean          NOT NULL DEFAULT false,
    recorded_at      timestamptz      NOT NULL,
    recorded_by      uuid             NOT NULL,         -- person or athlete
    device_at        timestamptz,                       -- what the phone's clock said
    PRIMARY KEY (gym_id, result_id),
    FOREIGN KEY (gym_id, athlete_id) REFERENCES athlete,
    FOREIGN KEY (gym_id, session_id) REFERENCES session,
    FOREIGN KEY (gym_id, rope_id) REFERENCES rope,
    FOREIGN KEY (gym_id, corrects) REFERENCES result
);
SELECT guard('result');
-- An athlete's page and the planner read one athlete's results, newest first.
CREATE INDEX result_by_athlete ON result (gym_id, athlete_id, day DESC, taken_at DESC);
CREATE UNIQUE INDEX result_corrected_once ON result (gym_id, corrects) WHERE corrects IS NOT NULL;
CREATE INDEX result_by_session ON result (gym_id, session_id) WHERE session_id IS NOT NULL;

COMMIT;
