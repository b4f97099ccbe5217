-- What became of each backup, so that owners see how old the last good one is.
-- Global: a backup holds every gym.
BEGIN;
SET LOCAL lock_timeout = '5s';

CREATE TABLE backup (
    backup_id  uuid        PRIMARY KEY,
    begun_at   timestamptz NOT NULL,
    ended_at   timestamptz NOT NULL,
    host       text        NOT NULL,                    -- the machine that made it
    file       text        NOT NULL DEFAULT '',         -- name in that machine's folder of backups
    bytes      bigint      NOT NULL DEFAULT 0,
    rows       bigint      NOT NULL DEFAULT 0,
    encrypted  boolean     NOT NULL DEFAULT false,
    verified   text        NOT NULL CHECK (verified IN ('', 'restored', 'read')), -- restored into an empty server, or only read
    fault      text        NOT NULL DEFAULT ''          -- a sentence; '': it is good
);
CREATE INDEX backup_by_time ON backup (ended_at DESC);
GRANT SELECT, INSERT ON backup TO ropewalk_app;

COMMIT;
