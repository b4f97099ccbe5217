-- The class hour: the floor, the test that everybody does, the clock, hands
-- up; what changes in a term; links that need no sign-in; incidents.
BEGIN;
SET LOCAL lock_timeout = '5s';

-- The space that a class jumps in, noted once.
CREATE TABLE floor (
    gym_id    uuid        NOT NULL,
    class_id  uuid        NOT NULL,
    length_m  double precision NOT NULL CHECK (length_m BETWEEN 2 AND 200),
    width_m   double precision NOT NULL CHECK (width_m BETWEEN 2 AND 200),
    spacing_m double precision NOT NULL CHECK (spacing_m BETWEEN 2 AND 10), -- from jumper to jumper
    surface   text        NOT NULL DEFAULT '',
    note      text        NOT NULL DEFAULT '',
    noted_at  timestamptz NOT NULL,
    noted_by  uuid        NOT NULL,
    PRIMARY KEY (gym_id, class_id),
    FOREIGN KEY (gym_id, class_id) REFERENCES class
);
SELECT guard('floor');
GRANT UPDATE (length_m, width_m, spacing_m, surface, note, noted_at, noted_by) ON floor TO ropewalk_app;

-- What a rope is chosen by, and the shoes, looked at once.
CREATE TABLE outfit (
    gym_id     uuid        NOT NULL,
    athlete_id uuid        NOT NULL,
    height_cm  smallint    CHECK (height_cm BETWEEN 80 AND 230),
    shoes      text        NOT NULL DEFAULT '' CHECK (shoes IN ('', 'fit', 'thin', 'none')),
    noted_at   timestamptz NOT NULL,
    noted_by   uuid        NOT NULL,
    PRIMARY KEY (gym_id, athlete_id),
    FOREIGN KEY (gym_id, athlete_id) REFERENCES athlete
);
SELECT guard('outfit');
GRANT UPDATE (height_cm, shoes, noted_at, noted_by) ON outfit TO ropewalk_app;

-- A test that a class does together; its results are those of its athletes that
-- match it since it was opened.
CREATE TABLE class_test (
    gym_id        uuid        NOT NULL,
    class_test_id uuid        NOT NULL,
    class_id      uuid        NOT NULL,
    session_id    uuid,                                 -- null: typed outside of a class hour
    day           date        NOT NULL,                 -- on the gym's calendar
    protocol      text        NOT NULL,
    seconds       double precision NOT NULL CHECK (seconds > 0),
    step          text        NOT NULL,
    rope_kind     text        NOT NULL DEFAULT '',
    surface       text        NOT NULL DEFAULT '',
    counted_by    text        NOT NULL CHECK (counted_by IN ('self', 'partner', 'coach')),
    one_foot      boolean     NOT NULL DEFAULT false,   -- one foot's steps are counted
    opened_at     timestamptz NOT NULL,
    opened_by     uuid        NOT NULL,
    PRIMARY KEY (gym_id, class_test_id),
    FOREIGN KEY (gym_id, class_id) REFERENCES class,
    FOREIGN KEY (gym_id, session_id) REFERENCES session
);
SELECT guard('class_test');
CREATE INDEX class_test_by_class ON class_test (gym_id, class_id, day DESC, opened_at DESC);

-- The clock of a session: what was pressed, in order. Two people who press at
-- once want the same number; the second is told.
CREATE TABLE run_event (
    gym_id     uuid             NOT NULL,
    session_id uuid             NOT NULL,
    number     integer          NOT NULL CHECK (number > 0),
    kind       text             NOT NULL CHECK (kind IN ('start', 'pause', 'go_on', 'move_on', 'join', 'end')),
    at         timestamptz      NOT NULL,
    elapsed    double precision NOT NULL,               -- seconds of the course at that moment
    course     json,                                    -- floor.Course, where it changed
    by         uuid             NOT NULL,
    PRIMARY KEY (gym_id, session_id, number),
    FOREIGN KEY (gym_id, session_id) REFERENCES session
);
SELECT guard('run_event');

-- An athlete asks for the coach, or was seen to. The newest row counts.
CREATE TABLE hand (
    gym_id     uuid        NOT NULL,
    hand_id    uuid        NOT NULL,
    session_id uuid        NOT NULL,
    athlete_id uuid        NOT NULL,
    up         boolean     NOT NULL,
    at         timestamptz NOT NULL,
    by         uuid        NOT NULL,
    PRIMARY KEY (gym_id, hand_id),
    FOREIGN KEY (gym_id, session_id) REFERENCES session,
    FOREIGN KEY (gym_id, athlete_id) REFERENCES athlete
);
SELECT guard('hand');
CREATE INDEX hand_by_session ON hand (gym_id, session_id, at);

-- What is other than the weekly times say. The newest row for a meeting
-- counts; day and starts_at name it as the weekly times give it, or as an
-- extra meeting's own.
CREATE TABLE meeting_change (
    gym_id       uuid        NOT NULL,
    change_id    uuid        NOT NULL,
    class_id     uuid        NOT NULL,
    kind         text        NOT NULL CHECK (kind IN ('moved', 'cancelled', 'restored', 'extra')),
    day          date        NOT NULL,
    starts_at    time        NOT NULL,                  -- on the gym's clock
    to_day       date,
    to_starts_at time,
    to_minutes   smallint    CHECK (to_minutes BETWEEN 10 AND 240),
    reason       text        NOT NULL DEFAULT '',
    made_at      timestamptz NOT NULL,
    made_by      uuid        NOT NULL,
    PRIMARY KEY (gym_id, change_id),
    FOREIGN KEY (gym_id, class_id) REFERENCES class,
    CHECK ((kind IN ('moved', 'extra')) = (to_day IS NOT NULL AND to_starts_at IS NOT NULL AND to_minutes IS NOT NULL))
);
SELECT guard('meeting_change');
CREATE INDEX meeting_change_by_class ON meeting_change (gym_id, class_id, made_at);

-- A way in without an account: a calendar for a class or an athlete, the
-- hall's screen of one session.
CREATE TABLE link (
    gym_id     uuid        NOT NULL,
    link_id    uuid        NOT NULL,
    kind       text        NOT NULL CHECK (kind IN ('calendar', 'screen')),
    class_id   uuid,
    athlete_id uuid,
    session_id uuid,
    names      boolean     NOT NULL DEFAULT false,      -- a screen with first names; else letters of groups alone
    made_at    timestamptz NOT NULL,
    made_by    uuid        NOT NULL,
    expires_at timestamptz,
    ended_at   timestamptz,
    PRIMARY KEY (gym_id, link_id),
    FOREIGN KEY (gym_id, class_id) REFERENCES class,
    FOREIGN KEY (gym_id, athlete_id) REFERENCES athlete,
    FOREIGN KEY (gym_id, session_id) REFERENCES session
);
SELECT guard('link');
GRANT UPDATE (ended_at) ON link TO ropewalk_app;
CREATE INDEX link_by_class ON link (gym_id, class_id);

-- Global: leads from a link's secret to the gym, before anyone is known. The
-- secret itself is never stored.
CREATE TABLE link_secret (
    secret_hash bytea PRIMARY KEY,
    gym_id      uuid  NOT NULL,
    link_id     uuid  NOT NULL,
    FOREIGN KEY (gym_id, link_id) REFERENCES link
);
GRANT SELECT, INSERT, DELETE ON link_secret TO ropewalk_app;
GRANT SELECT ON link_secret TO ropewalk_backup;

-- Something happened: what, where, who saw it and what was done. Seen by few.
-- A correction is a new row that points at the old one.
CREATE TABLE incident (
    gym_id        uuid        NOT NULL,
    incident_id   uuid        NOT NULL,
    class_id      uuid,
    session_id    uuid,
    athlete_id    uuid,                                 -- who was hurt or concerned, if one person was
    happened_at   timestamptz NOT NULL,
    place         text        NOT NULL CHECK (place <> ''),
    what          text        NOT NULL CHECK (what <> ''),
    seen_by       text        NOT NULL CHECK (seen_by <> ''),
    done          text        NOT NULL CHECK (done <> ''),
    guardian_told text        NOT NULL DEFAULT '',      -- who was told, when and how
    corrects      uuid,
    recorded_at   timestamptz NOT NULL,
    recorded_by   uuid        NOT NULL,
    PRIMARY KEY (gym_id, incident_id),
    FOREIGN KEY (gym_id, class_id) REFERENCES class,
    FOREIGN KEY (gym_id, session_id) REFERENCES session,
    FOREIGN KEY (gym_id, athlete_id) REFERENCES athlete,
    FOREIGN KEY (gym_id, corrects) REFERENCES incident
);
SELECT guard('incident');
CREATE INDEX incident_by_time ON incident (gym_id, happened_at DESC);
CREATE INDEX incident_by_athlete ON incident (gym_id, athlete_id) WHERE athlete_id IS NOT NULL;
CREATE UNIQUE INDEX incident_corrected_once ON incident (gym_id, corrects) WHERE corrects IS NOT NULL;

GRANT DELETE ON term TO ropewalk_app;

COMMIT;
