-- Terms, classes with weekly times, athletes, and the ropes in the rack.
BEGIN;
SET LOCAL lock_timeout = '5s';

CREATE TABLE term (
    gym_id    uuid NOT NULL REFERENCES gym,
    term_id   uuid NOT NULL,
    name      text NOT NULL CHECK (name <> ''),
    starts_on date NOT NULL,
    ends_on   date NOT NULL CHECK (ends_on >= starts_on),
    PRIMARY KEY (gym_id, term_id)
);
SELECT guard('term');
GRANT UPDATE (name, starts_on, ends_on) ON term TO ropewalk_app;

CREATE TABLE holiday (
    gym_id     uuid NOT NULL REFERENCES gym,
    holiday_id uuid NOT NULL,
    name       text NOT NULL CHECK (name <> ''),
    starts_on  date NOT NULL,
    ends_on    date NOT NULL CHECK (ends_on >= starts_on),
    PRIMARY KEY (gym_id, holiday_id)
);
SELECT guard('holiday');
GRANT UPDATE (name, starts_on, ends_on), DELETE ON holiday TO ropewalk_app;

CREATE TABLE class (
    gym_id      uuid        NOT NULL REFERENCES gym,
    class_id    uuid        NOT NULL,
    name        text        NOT NULL CHECK (name <> ''),
    name_key    text        NOT NULL,                   -- folded, for finding the same name again
    code        text        NOT NULL,                   -- what athletes type to come in
    created_at  timestamptz NOT NULL,
    archived_at timestamptz,
    PRIMARY KEY (gym_id, class_id),
    UNIQUE (gym_id, name_key)
);
SELECT guard('class');
GRANT UPDATE (name, name_key, code, archived_at) ON class TO ropewalk_app;

-- Global: leads from a typed class code to the gym, before anyone is known.
CREATE TABLE class_code (
    code     text PRIMARY KEY,
    gym_id   uuid NOT NULL,
    class_id uuid NOT NULL,
    FOREIGN KEY (gym_id, class_id) REFERENCES class
);
GRANT SELECT, INSERT, DELETE ON class_code TO ropewalk_app;
GRANT SELECT ON class_code TO ropewalk_backup;

CREATE TABLE class_time (
    gym_id    uuid     NOT NULL,
    class_id  uuid     NOT NULL,
    weekday   smallint NOT NULL CHECK (weekday BETWEEN 1 AND 7),       -- ISO: 1 is Monday
    starts_at time     NOT NULL,                                       -- on the gym's clock
    minutes   smallint NOT NULL CHECK (minutes BETWEEN 10 AND 240),
    PRIMARY KEY (gym_id, class_id, weekday, starts_at),
    FOREIGN KEY (gym_id, class_id) REFERENCES class
);
SELECT guard('class_time');
GRANT DELETE ON class_time TO ropewalk_app;

CREATE TABLE athlete (
    gym_id      uuid        NOT NULL REFERENCES gym,
    athlete_id  uuid        NOT NULL,
    name        text        NOT NULL CHECK (name <> ''),
    name_key    text        NOT NULL,
    sort_name   text        NOT NULL DEFAULT '',        -- where the script needs one
    lang        text        NOT NULL DEFAULT '',        -- BCP 47, for the name's script
    birth_year  smallint    CHECK (birth_year BETWEEN 1900 AND 2200),
    pin_hash    text        NOT NULL DEFAULT '',        -- argon2id; '' until one is given
    started_on  date,                                   -- first day of training, for ceilings
    created_at  timestamptz NOT NULL,
    archived_at timestamptz,
    PRIMARY KEY (gym_id, athlete_id)
);
SELECT guard('athlete');
GRANT UPDATE (name, name_key, sort_name, lang, birth_year, pin_hash, started_on, archived_at) ON athlete TO ropewalk_app;
-- The same name and year twice in one gym is the same person.
CREATE UNIQUE INDEX athlete_once ON athlete (gym_id, name_key, coalesce(birth_year, 0));

CREATE TABLE enrolment (
    gym_id     uuid    NOT NULL,
    class_id   uuid    NOT NULL,
    athlete_id uuid    NOT NULL,
    place      integer NOT NULL,                        -- the order people stand in
    since      date    NOT NULL,
    until      date,
    PRIMARY KEY (gym_id, class_id, athlete_id),
    FOREIGN KEY (gym_id, class_id) REFERENCES class,
    FOREIGN KEY (gym_id, athlete_id) REFERENCES athlete
);
SELECT guard('enrolment');
GRANT UPDATE (place, since, until) ON enrolment TO ropewalk_app;
CREATE INDEX enrolment_by_athlete ON enrolment (gym_id, athlete_id);

CREATE TABLE rope (
    gym_id     uuid        NOT NULL REFERENCES gym,
    rope_id    uuid        NOT NULL,
    label      text        NOT NULL CHECK (label <> ''),               -- as written on the rope
    kind       text        NOT NULL CHECK (kind IN ('beaded', 'cord', 'steel', 'cloth', 'leather')),
    length_m   double precision CHECK (length_m BETWEEN 1 AND 5),
    handle     text        NOT NULL DEFAULT '',
    note       text        NOT NULL DEFAULT '',
    athlete_id uuid,                                                   -- who uses it, if one person does
    added_at   timestamptz NOT NULL,
    retired_at timestamptz,
    PRIMARY KEY (gym_id, rope_id),
    UNIQUE (gym_id, label),
    FOREIGN KEY (gym_id, athlete_id) REFERENCES athlete
);
SELECT guard('rope');
GRANT UPDATE (label, kind, length_m, handle, note, athlete_id, retired_at) ON rope TO ropewalk_app;

COMMIT;
