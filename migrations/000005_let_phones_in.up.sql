-- Phones: which are let in, by which card, with whose consent, and what they
-- sent.
BEGIN;
SET LOCAL lock_timeout = '5s';

-- Under this age a parent or guardian agrees before a phone is let in; 0: the
-- gym does not ask.
ALTER TABLE gym ADD COLUMN consent_age smallint NOT NULL DEFAULT 0 CHECK (consent_age BETWEEN 0 AND 21);
GRANT UPDATE (consent_age) ON gym TO ropewalk_app;

-- A parent or guardian whom the gym lets see one athlete's page.
CREATE TABLE guardian (
    gym_id      uuid        NOT NULL,
    guardian_id uuid        NOT NULL,
    athlete_id  uuid        NOT NULL,
    name        text        NOT NULL CHECK (name <> ''),
    added_at    timestamptz NOT NULL,
    added_by    uuid        NOT NULL,
    removed_at  timestamptz,
    PRIMARY KEY (gym_id, guardian_id),
    FOREIGN KEY (gym_id, athlete_id) REFERENCES athlete
);
SELECT guard('guardian');
GRANT UPDATE (removed_at) ON guardian TO ropewalk_app;
CREATE INDEX guardian_by_athlete ON guardian (gym_id, athlete_id);

-- A phone that was let in, for an athlete or for a guardian.
CREATE TABLE device (
    gym_id       uuid        NOT NULL,
    device_id    uuid        NOT NULL,
    athlete_id   uuid        NOT NULL,
    guardian_id  uuid,
    label        text        NOT NULL DEFAULT '',       -- the kind of phone, as it says itself
    shared       boolean     NOT NULL DEFAULT false,    -- passed around: sign-ins are short
    let_in_at    timestamptz NOT NULL,
    last_seen_at timestamptz NOT NULL,
    cut_off_at   timestamptz,
    cut_off_by   uuid,
    PRIMARY KEY (gym_id, device_id),
    FOREIGN KEY (gym_id, athlete_id) REFERENCES athlete,
    FOREIGN KEY (gym_id, guardian_id) REFERENCES guardian
);
SELECT guard('device');
GRANT UPDATE (last_seen_at, cut_off_at, cut_off_by) ON device TO ropewalk_app;
CREATE INDEX device_by_athlete ON device (gym_id, athlete_id);

-- A printed card, or a link for a guardian: lets one phone in, once.
CREATE TABLE card (
    gym_id      uuid        NOT NULL,
    card_id     uuid        NOT NULL,
    athlete_id  uuid        NOT NULL,
    guardian_id uuid,
    made_at     timestamptz NOT NULL,
    made_by     uuid        NOT NULL,
    expires_at  timestamptz NOT NULL,
    used_at     timestamptz,
    device_id   uuid,                                   -- the phone that it let in
    voided_at   timestamptz,                            -- a newer card took its place
    PRIMARY KEY (gym_id, card_id),
    FOREIGN KEY (gym_id, athlete_id) REFERENCES athlete,
    FOREIGN KEY (gym_id, guardian_id) REFERENCES guardian,
    FOREIGN KEY (gym_id, device_id) REFERENCES device
);
SELECT guard('card');
GRANT UPDATE (used_at, device_id, voided_at) ON card TO ropewalk_app;
CREATE INDEX card_by_athlete ON card (gym_id, athlete_id);

-- Global: leads from a card's secret to the gym, before anyone is known. The
-- secret itself is never stored.
CREATE TABLE card_secret (
    secret_hash bytea PRIMARY KEY,
    gym_id      uuid  NOT NULL,
    card_id     uuid  NOT NULL,
    FOREIGN KEY (gym_id, card_id) REFERENCES card
);
GRANT SELECT, INSERT, DELETE ON card_secret TO ropewalk_app;
GRANT SELECT ON card_secret TO ropewalk_backup;

ALTER TABLE sign_in ADD COLUMN device_id uuid;
CREATE INDEX sign_in_by_device ON sign_in (gym_id, device_id) WHERE device_id IS NOT NULL;

-- What a parent or guardian agreed to or took back; the newest row counts.
CREATE TABLE consent (
    gym_id      uuid        NOT NULL,
    consent_id  uuid        NOT NULL,
    athlete_id  uuid        NOT NULL,
    given       boolean     NOT NULL,                   -- false: taken back
    by_name     text        NOT NULL CHECK (by_name <> ''),
    guardian_id uuid,                                   -- who said so on an own phone
    how         text        NOT NULL CHECK (how IN ('paper', 'spoken', 'phone')),
    wording     text        NOT NULL,                   -- what was agreed to
    noted_at    timestamptz NOT NULL,
    noted_by    uuid        NOT NULL,
    PRIMARY KEY (gym_id, consent_id),
    FOREIGN KEY (gym_id, athlete_id) REFERENCES athlete,
    FOREIGN KEY (gym_id, guardian_id) REFERENCES guardian
);
SELECT guard('consent');
CREATE INDEX consent_by_athlete ON consent (gym_id, athlete_id, noted_at DESC);

-- What phones sent, by the id that the phone made: the same entry
-- again is known, another one under its id is refused.
CREATE TABLE phone_entry (
    gym_id      uuid        NOT NULL,
    entry_id    uuid        NOT NULL,
    kind        text        NOT NULL CHECK (kind <> ''),
    sent_by     uuid        NOT NULL,                   -- the athlete whose phone it was
    device_id   uuid,
    body_hash   bytea       NOT NULL,                   -- SHA-256
    device_at   timestamptz NOT NULL,                   -- what the phone's clock said
    offset_ms   bigint      NOT NULL,                   -- added to it, for the time that counts
    received_at timestamptz NOT NULL,
    PRIMARY KEY (gym_id, entry_id),
    FOREIGN KEY (gym_id, sent_by) REFERENCES athlete,
    FOREIGN KEY (gym_id, device_id) REFERENCES device
);
SELECT guard('phone_entry');
CREATE INDEX phone_entry_by_sender ON phone_entry (gym_id, sent_by, received_at DESC);

COMMIT;
