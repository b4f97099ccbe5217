-- Ladders as a gym edits them, what a coach sees on the floor, what is set to
-- do next, and who uses which rope.
BEGIN;
SET LOCAL lock_timeout = '5s';

-- What was tried or judged, for tests that are counted against a task, and
-- whether a minor was without an adult: such a result opens no gate.
ALTER TABLE result ADD COLUMN IF NOT EXISTS task text NOT NULL DEFAULT '';
ALTER TABLE result ADD COLUMN IF NOT EXISTS unattended boolean NOT NULL DEFAULT false;
-- Gates read a term of everybody's results, newest weeks only.
CREATE INDEX result_by_day ON result (gym_id, day);

ALTER TABLE ladder ADD COLUMN key text NOT NULL DEFAULT 'ladder' CHECK (key <> '');
ALTER TABLE ladder ADD COLUMN lang text NOT NULL DEFAULT 'en';       -- BCP 47, of its texts
GRANT UPDATE (lang) ON ladder TO ropewalk_app;
ALTER TABLE ladder_version ADD COLUMN note text NOT NULL DEFAULT ''; -- what changed, in the coach's words

-- Another ladder, or a version without the athlete's stage, moves an athlete too.
ALTER TABLE stage_decision DROP CONSTRAINT stage_decision_verdict_check;
ALTER TABLE stage_decision ADD CONSTRAINT stage_decision_verdict_check
    CHECK (verdict IN ('start', 'up', 'stay', 'down', 'back', 'moved'));

-- A ladder while it is being changed, one draft a ladder. It is no fact: it
-- goes when it is published or thrown away.
CREATE TABLE ladder_draft (
    gym_id     uuid        NOT NULL,
    ladder_id  uuid        NOT NULL,
    based_on   integer     NOT NULL,                    -- the version that was copied
    revision   integer     NOT NULL CHECK (revision > 0), -- counts changes, so that two people do not overwrite each other
    body       json        NOT NULL,                    -- a ladder file
    changed_at timestamptz NOT NULL,
    changed_by uuid        NOT NULL,
    PRIMARY KEY (gym_id, ladder_id),
    FOREIGN KEY (gym_id, ladder_id) REFERENCES ladder,
    FOREIGN KEY (gym_id, ladder_id, based_on) REFERENCES ladder_version
);
SELECT guard('ladder_draft');
GRANT UPDATE (based_on, revision, body, changed_at, changed_by), DELETE ON ladder_draft TO ropewalk_app;

-- A coach's look at one point of how somebody jumps, or at a task of a gate.
-- Taking one back is a new row that points at it.
CREATE TABLE judgement (
    gym_id       uuid        NOT NULL,
    judgement_id uuid        NOT NULL,
    athlete_id   uuid        NOT NULL,
    stage        text        NOT NULL,
    task         text        NOT NULL CHECK (task <> ''), -- a point, or the key of a clause's task
    good         boolean     NOT NULL,
    day          date        NOT NULL,                    -- on the gym's calendar
    takes_back   uuid,
    judged_at    timestamptz NOT NULL,
    judged_by    uuid        NOT NULL,
    PRIMARY KEY (gym_id, judgement_id),
    FOREIGN KEY (gym_id, athlete_id) REFERENCES athlete,
    FOREIGN KEY (gym_id, takes_back) REFERENCES judgement
);
SELECT guard('judgement');
CREATE INDEX judgement_by_athlete ON judgement (gym_id, athlete_id, day DESC);
CREATE UNIQUE INDEX judgement_taken_back_once ON judgement (gym_id, takes_back) WHERE takes_back IS NOT NULL;

-- The catch diary: where the rope stopped and what else was noticed. What
-- nobody noticed is ''.
CREATE TABLE catch_note (
    gym_id        uuid        NOT NULL,
    catch_note_id uuid        NOT NULL,
    athlete_id    uuid        NOT NULL,
    stage         text        NOT NULL DEFAULT '',
    day           date        NOT NULL,
    spot          text        NOT NULL DEFAULT '',
    timing        text        NOT NULL DEFAULT '',
    hands         text        NOT NULL DEFAULT '',
    height        text        NOT NULL DEFAULT '',
    takes_back    uuid,
    noted_at      timestamptz NOT NULL,
    noted_by      uuid        NOT NULL,
    PRIMARY KEY (gym_id, catch_note_id),
    FOREIGN KEY (gym_id, athlete_id) REFERENCES athlete,
    FOREIGN KEY (gym_id, takes_back) REFERENCES catch_note
);
SELECT guard('catch_note');
CREATE INDEX catch_note_by_athlete ON catch_note (gym_id, athlete_id, day DESC);
CREATE UNIQUE INDEX catch_note_taken_back_once ON catch_note (gym_id, takes_back) WHERE takes_back IS NOT NULL;

-- A drill or a test that a coach set for somebody. One setting for a class is
-- a row for each athlete, all with the same batch.
CREATE TABLE assignment (
    gym_id        uuid        NOT NULL,
    assignment_id uuid        NOT NULL,
    batch_id      uuid        NOT NULL,
    athlete_id    uuid        NOT NULL,
    kind          text        NOT NULL CHECK (kind IN ('drill', 'test')),
    stage         text        NOT NULL DEFAULT '',      -- whose drill, or whose gate asks for the test
    clause        text        NOT NULL DEFAULT '',      -- the clause that the test is for
    protocol      text        NOT NULL DEFAULT '',
    seconds       integer     NOT NULL DEFAULT 0,
    step          text        NOT NULL DEFAULT '',
    task          text        NOT NULL DEFAULT '',
    note          text        NOT NULL DEFAULT '',
    day           date        NOT NULL,
    takes_back    uuid,
    set_at        timestamptz NOT NULL,
    set_by        uuid        NOT NULL,
    PRIMARY KEY (gym_id, assignment_id),
    FOREIGN KEY (gym_id, athlete_id) REFERENCES athlete,
    FOREIGN KEY (gym_id, takes_back) REFERENCES assignment
);
SELECT guard('assignment');
CREATE INDEX assignment_by_athlete ON assignment (gym_id, athlete_id, day DESC);
CREATE UNIQUE INDEX assignment_taken_back_once ON assignment (gym_id, takes_back) WHERE takes_back IS NOT NULL;

-- The kinds of rope that a class uses; none listed means all.
CREATE TABLE class_rope_kind (
    gym_id   uuid NOT NULL,
    class_id uuid NOT NULL,
    kind     text NOT NULL CHECK (kind IN ('beaded', 'cord', 'steel', 'cloth', 'leather')),
    PRIMARY KEY (gym_id, class_id, kind),
    FOREIGN KEY (gym_id, class_id) REFERENCES class
);
SELECT guard('class_rope_kind');
GRANT DELETE ON class_rope_kind TO ropewalk_app;

-- Somebody looked at coating, ends and handles.
CREATE TABLE rope_check (
    gym_id        uuid        NOT NULL,
    rope_check_id uuid        NOT NULL,
    rope_id       uuid        NOT NULL,
    sound         boolean     NOT NULL,                 -- false: not to be used
    note          text        NOT NULL DEFAULT '',
    day           date        NOT NULL,
    checked_at    timestamptz NOT NULL,
    checked_by    uuid        NOT NULL,
    PRIMARY KEY (gym_id, rope_check_id),
    FOREIGN KEY (gym_id, rope_id) REFERENCES rope
);
SELECT guard('rope_check');
CREATE INDEX rope_check_by_rope ON rope_check (gym_id, rope_id, checked_at DESC);

-- Who got a rope, and who brought it back. A refusal that a coach took over
-- keeps the rules that spoke and why.
CREATE TABLE rope_loan (
    gym_id        uuid        NOT NULL,
    rope_loan_id  uuid        NOT NULL,
    rope_id       uuid        NOT NULL,
    athlete_id    uuid        NOT NULL,
    lent          boolean     NOT NULL,                 -- false: brought back
    decision      jsonb       NOT NULL DEFAULT '{}',    -- what the rules said, as package ladder writes it
    day           date        NOT NULL,
    lent_at       timestamptz NOT NULL,
    lent_by       uuid        NOT NULL,
    PRIMARY KEY (gym_id, rope_loan_id),
    FOREIGN KEY (gym_id, rope_id) REFERENCES rope,
    FOREIGN KEY (gym_id, athlete_id) REFERENCES athlete
);
SELECT guard('rope_loan');
CREATE INDEX rope_loan_by_rope ON rope_loan (gym_id, rope_id, lent_at DESC);
CREATE INDEX rope_loan_by_athlete ON rope_loan (gym_id, athlete_id, lent_at DESC);

-- A coach's word that somebody may use steel, or may no longer. The newest counts.
CREATE TABLE steel_approval (
    gym_id            uuid        NOT NULL,
    steel_approval_id uuid        NOT NULL,
    athlete_id        uuid        NOT NULL,
    approved          boolean     NOT NULL,
    reason            text        NOT NULL,
    day               date        NOT NULL,
    approved_at       timestamptz NOT NULL,
    approved_by       uuid        NOT NULL,
    PRIMARY KEY (gym_id, steel_approval_id),
    FOREIGN KEY (gym_id, athlete_id) REFERENCES athlete
);
SELECT guard('steel_approval');
CREATE INDEX steel_approval_by_athlete ON steel_approval (gym_id, athlete_id, approved_at DESC);

COMMIT;
