-- Term reports: what coaches write in them, the files that workers make of
-- them, and who may read the gym's figures by program.
BEGIN;
SET LOCAL lock_timeout = '5s';

-- A coach's words on one athlete's term. What is being typed is kept apart from
-- what the report shows, which is what the coach last put there.
CREATE TABLE report_comment (
    gym_id     uuid        NOT NULL,
    term_id    uuid        NOT NULL,
    athlete_id uuid        NOT NULL,
    draft      text        NOT NULL DEFAULT '',
    draft_aim  text        NOT NULL DEFAULT '',
    comment    text        NOT NULL DEFAULT '',
    aim        text        NOT NULL DEFAULT '',
    revision   integer     NOT NULL CHECK (revision > 0), -- counts changes, so that two people do not overwrite each other
    changed_at timestamptz NOT NULL,
    changed_by uuid        NOT NULL,
    shown_at   timestamptz,                             -- null: nothing is in the report yet
    PRIMARY KEY (gym_id, term_id, athlete_id),
    FOREIGN KEY (gym_id, term_id) REFERENCES term,
    FOREIGN KEY (gym_id, athlete_id) REFERENCES athlete
);
SELECT guard('report_comment');
GRANT UPDATE (draft, draft_aim, comment, aim, revision, changed_at, changed_by, shown_at) ON report_comment TO ropewalk_app;

-- A file that somebody asked for, its progress, and where its bytes are. The
-- row stays when the bytes have been removed, so that its address goes on
-- working and the file can be made again.
CREATE TABLE report (
    gym_id      uuid        NOT NULL REFERENCES gym,
    report_id   uuid        NOT NULL,
    kind        text        NOT NULL CHECK (kind IN ('athlete', 'class', 'gym', 'athlete_data', 'gym_data')),
    format      text        NOT NULL CHECK (format IN ('pdf', 'xlsx', 'csv', 'zip')),
    paper       text        NOT NULL DEFAULT '' CHECK (paper IN ('', 'a4', 'letter')),
    term_id     uuid,
    class_id    uuid,
    athlete_id  uuid,
    as_of       date        NOT NULL,                   -- the last day that it looks at
    state       text        NOT NULL CHECK (state IN ('waiting', 'working', 'done', 'stopped', 'broken')),
    done        integer     NOT NULL DEFAULT 0,
    of          integer     NOT NULL DEFAULT 0,         -- 0: not counted yet
    attempt     uuid,                                   -- whose bytes count; another one stops by itself
    file_name   text        NOT NULL DEFAULT '',
    bytes       bigint      NOT NULL DEFAULT 0,
    sha256      bytea,
    asked_at    timestamptz NOT NULL,
    asked_by    uuid        NOT NULL,
    finished_at timestamptz,
    removed_at  timestamptz,                            -- the bytes are gone
    PRIMARY KEY (gym_id, report_id),
    FOREIGN KEY (gym_id, term_id) REFERENCES term ON DELETE CASCADE,
    FOREIGN KEY (gym_id, class_id) REFERENCES class,
    FOREIGN KEY (gym_id, athlete_id) REFERENCES athlete
);
SELECT guard('report');
GRANT UPDATE (state, done, of, attempt, file_name, bytes, sha256, as_of, finished_at, removed_at) ON report TO ropewalk_app;
CREATE INDEX report_by_time ON report (gym_id, asked_at DESC);
CREATE INDEX report_by_athlete ON report (gym_id, athlete_id) WHERE athlete_id IS NOT NULL;

-- The bytes of a file, in pieces, so that no file is ever whole in memory.
CREATE TABLE report_piece (
    gym_id    uuid    NOT NULL,
    report_id uuid    NOT NULL,
    attempt   uuid    NOT NULL,
    number    integer NOT NULL CHECK (number > 0),
    body      bytea   NOT NULL,
    PRIMARY KEY (gym_id, report_id, attempt, number),
    FOREIGN KEY (gym_id, report_id) REFERENCES report ON DELETE CASCADE
);
ALTER TABLE report_piece ALTER COLUMN body SET STORAGE EXTERNAL; -- packed already
SELECT guard('report_piece');
GRANT DELETE ON report_piece TO ropewalk_app;

-- A program that may read what reports show. The token itself is never stored.
CREATE TABLE api_token (
    gym_id       uuid        NOT NULL REFERENCES gym,
    api_token_id uuid        NOT NULL,
    name         text        NOT NULL CHECK (name <> ''), -- what it is for
    token_hash   bytea       NOT NULL,                  -- SHA-256
    made_at      timestamptz NOT NULL,
    made_by      uuid        NOT NULL,
    last_used_on date,
    ended_at     timestamptz,
    PRIMARY KEY (gym_id, api_token_id),
    UNIQUE (gym_id, token_hash)
);
SELECT guard('api_token');
GRANT UPDATE (last_used_on, ended_at) ON api_token TO ropewalk_app;

-- The queue of work to do in the background, as River lays it out at its
-- migration 8, in a schema of its own: its rows hold ids alone and belong to no
-- gym. A test asks River whether it would add anything.
CREATE SCHEMA river;

CREATE TABLE river.river_migration (
    line       text        NOT NULL,
    version    bigint      NOT NULL,
    created_at timestamptz NOT NULL DEFAULT now(),
    CONSTRAINT line_length CHECK (char_length(line) > 0 AND char_length(line) < 128),
    CONSTRAINT version_gte_1 CHECK (version >= 1),
    PRIMARY KEY (line, version)
);
INSERT INTO river.river_migration (line, version) SELECT 'main', generate_series(1, 8);

CREATE TYPE river.river_job_state AS ENUM
    ('available', 'cancelled', 'completed', 'discarded', 'pending', 'retryable', 'running', 'scheduled');

CREATE TABLE river.river_job (
    id            bigserial             PRIMARY KEY,
    state         river.river_job_state NOT NULL DEFAULT 'available',
    attempt       smallint              NOT NULL DEFAULT 0,
    max_attempts  smallint              NOT NULL DEFAULT 25,
    attempted_at  timestamptz,
    created_at    timestamptz           NOT NULL DEFAULT now(),
    finalized_at  timestamptz,
    scheduled_at  timestamptz           NOT NULL DEFAULT now(),
    priority      smallint              NOT NULL DEFAULT 1,
    args          jsonb                 NOT NULL,
    attempted_by  text[],
    errors        jsonb[],
    kind          text                  NOT NULL,
    metadata      jsonb                 NOT NULL DEFAULT '{}',
    queue         text                  NOT NULL DEFAULT 'default',
    tags          varchar(255)[]        NOT NULL DEFAULT '{}',
    unique_key    bytea,
    unique_states bit(8),
    CONSTRAINT finalized_or_finalized_at_null CHECK (
        (finalized_at IS NULL AND state NOT IN ('cancelled', 'completed', 'discarded')) OR
        (finalized_at IS NOT NULL AND state IN ('cancelled', 'completed', 'discarded'))),
    CONSTRAINT max_attempts_is_positive CHECK (max_attempts > 0),
    CONSTRAINT priority_in_range CHECK (priority >= 1 AND priority <= 4),
    CONSTRAINT queue_length CHECK (char_length(queue) > 0 AND char_length(queue) < 128),
    CONSTRAINT kind_length CHECK (char_length(kind) > 0 AND char_length(kind) < 128)
);
CREATE INDEX river_job_kind ON river.river_job (kind);
CREATE INDEX river_job_state_and_finalized_at_index ON river.river_job (state, finalized_at) WHERE finalized_at IS NOT NULL;
CREATE INDEX river_job_prioritized_fetching_index ON river.river_job (state, queue, priority, scheduled_at, id);
CREATE INDEX river_job_args_index ON river.river_job USING gin (args);
CREATE INDEX river_job_metadata_index ON river.river_job USING gin (metadata);

CREATE FUNCTION river.river_job_state_in_bitmask(bitmask bit(8), state river.river_job_state) RETURNS boolean
LANGUAGE sql IMMUTABLE AS $$
    SELECT CASE state
        WHEN 'available' THEN get_bit(bitmask, 7)
        WHEN 'cancelled' THEN get_bit(bitmask, 6)
        WHEN 'completed' THEN get_bit(bitmask, 5)
        WHEN 'discarded' THEN get_bit(bitmask, 4)
        WHEN 'pending'   THEN get_bit(bitmask, 3)
        WHEN 'retryable' THEN get_bit(bitmask, 2)
        WHEN 'running'   THEN get_bit(bitmask, 1)
        WHEN 'scheduled' THEN get_bit(bitmask, 0)
        ELSE 0
    END = 1;
$$;
CREATE UNIQUE INDEX river_job_unique_idx ON river.river_job (unique_key)
    WHERE unique_key IS NOT NULL AND unique_states IS NOT NULL AND river.river_job_state_in_bitmask(unique_states, state);

CREATE UNLOGGED TABLE river.river_leader (
    elected_at timestamptz NOT NULL,
    expires_at timestamptz NOT NULL,
    leader_id  text        NOT NULL,
    name       text        PRIMARY KEY DEFAULT 'default',
    CONSTRAINT name_length CHECK (name = 'default'),
    CONSTRAINT leader_id_length CHECK (char_length(leader_id) > 0 AND char_length(leader_id) < 128)
);

CREATE TABLE river.river_queue (
    name       text        PRIMARY KEY NOT NULL,
    created_at timestamptz NOT NULL DEFAULT now(),
    metadata   jsonb       NOT NULL DEFAULT '{}',
    paused_at  timestamptz,
    updated_at timestamptz NOT NULL DEFAULT CURRENT_TIMESTAMP
);

CREATE TABLE river.river_notification (
    id         bigserial   PRIMARY KEY,
    created_at timestamptz NOT NULL DEFAULT now(),
    payload    text        NOT NULL,
    topic      text        NOT NULL,
    CONSTRAINT topic_length CHECK (length(topic) > 0 AND length(topic) < 128)
);
CREATE INDEX river_notification_created_at_idx ON river.river_notification (created_at);
CREATE INDEX river_notification_topic_id_idx ON river.river_notification (topic, id);

GRANT USAGE ON SCHEMA river TO ropewalk_app, ropewalk_backup;
GRANT SELECT ON ALL TABLES IN SCHEMA river TO ropewalk_app, ropewalk_backup;
GRANT INSERT, UPDATE, DELETE ON river.river_job, river.river_leader, river.river_queue, river.river_notification TO ropewalk_app;
GRANT USAGE, SELECT ON ALL SEQUENCES IN SCHEMA river TO ropewalk_app;
GRANT SELECT ON ALL SEQUENCES IN SCHEMA river TO ropewalk_backup;

COMMIT;
