-- The schema after all migrations, for reading; migrations/ is what runs.
-- Written by: go test ./internal/store -run TestSchemaDump -update

CREATE SCHEMA river;

CREATE TYPE river.river_job_state AS ENUM (
    'available',
    'cancelled',
    'completed',
    'discarded',
    'pending',
    'retryable',
    'running',
    'scheduled'
);

CREATE FUNCTION public.guard(guarded regclass) RETURNS void
    LANGUAGE plpgsql
    AS $_$
BEGIN
    EXECUTE format('ALTER TABLE %s ENABLE ROW LEVEL SECURITY', guarded);
    EXECUTE format('ALTER TABLE %s FORCE ROW LEVEL SECURITY', guarded);
    EXECUTE format($p$CREATE POLICY own_gym ON %s TO ropewalk_app, ropewalk_erasure
        USING (gym_id = NULLIF(current_setting('ropewalk.gym', true), '')::uuid)
        WITH CHECK (gym_id = NULLIF(current_setting('ropewalk.gym', true), '')::uuid)$p$, guarded);
    EXECUTE format('GRANT SELECT, INSERT ON %s TO ropewalk_app', guarded);
    EXECUTE format('GRANT SELECT, UPDATE, DELETE ON %s TO ropewalk_erasure', guarded);
    EXECUTE format('GRANT SELECT ON %s TO ropewalk_backup', guarded);
END $_$;

CREATE FUNCTION river.river_job_state_in_bitmask(bitmask bit, state river.river_job_state) RETURNS boolean
    LANGUAGE sql IMMUTABLE
    AS $$
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

CREATE TABLE public.api_token (
    gym_id uuid NOT NULL,
    api_token_id uuid NOT NULL,
    name text NOT NULL,
    token_hash bytea NOT NULL,
    made_at timestamp with time zone NOT NULL,
    made_by uuid NOT NULL,
    last_used_on date,
    ended_at timestamp with time zone,
    CONSTRAINT api_token_name_check CHECK ((name <> ''::text))
);

ALTER TABLE ONLY public.api_token FORCE ROW LEVEL SECURITY;

CREATE TABLE public.assignment (
    gym_id uuid NOT NULL,
    assignment_id uuid NOT NULL,
    batch_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    kind text NOT NULL,
    stage text DEFAULT ''::text NOT NULL,
    clause text DEFAULT ''::text NOT NULL,
    protocol text DEFAULT ''::text NOT NULL,
    seconds integer DEFAULT 0 NOT NULL,
    step text DEFAULT ''::text NOT NULL,
    task text DEFAULT ''::text NOT NULL,
    note text DEFAULT ''::text NOT NULL,
    day date NOT NULL,
    takes_back uuid,
    set_at timestamp with time zone NOT NULL,
    set_by uuid NOT NULL,
    CONSTRAINT assignment_kind_check CHECK ((kind = ANY (ARRAY['drill'::text, 'test'::text])))
);

ALTER TABLE ONLY public.assignment FORCE ROW LEVEL SECURITY;

CREATE TABLE public.athlete (
    gym_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    name text NOT NULL,
    name_key text NOT NULL,
    sort_name text DEFAULT ''::text NOT NULL,
    lang text DEFAULT ''::text NOT NULL,
    birth_year smallint,
    pin_hash text DEFAULT ''::text NOT NULL,
    started_on date,
    created_at timestamp with time zone NOT NULL,
    archived_at timestamp with time zone,
    CONSTRAINT athlete_birth_year_check CHECK (((birth_year >= 1900) AND (birth_year <= 2200))),
    CONSTRAINT athlete_name_check CHECK ((name <> ''::text))
);

ALTER TABLE ONLY public.athlete FORCE ROW LEVEL SECURITY;

CREATE TABLE public.attendance (
    gym_id uuid NOT NULL,
    session_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    here boolean NOT NULL,
    noted_at timestamp with time zone NOT NULL,
    noted_by uuid NOT NULL
);

ALTER TABLE ONLY public.attendance FORCE ROW LEVEL SECURITY;

CREATE TABLE public.audit (
    gym_id uuid NOT NULL,
    audit_id uuid NOT NULL,
    at timestamp with time zone NOT NULL,
    by uuid NOT NULL,
    action text NOT NULL,
    subject text NOT NULL,
    subject_id uuid,
    detail jsonb DEFAULT '{}'::jsonb NOT NULL
);

ALTER TABLE ONLY public.audit FORCE ROW LEVEL SECURITY;

CREATE TABLE public.backup (
    backup_id uuid NOT NULL,
    begun_at timestamp with time zone NOT NULL,
    ended_at timestamp with time zone NOT NULL,
    host text NOT NULL,
    file text DEFAULT ''::text NOT NULL,
    bytes bigint DEFAULT 0 NOT NULL,
    rows bigint DEFAULT 0 NOT NULL,
    encrypted boolean DEFAULT false NOT NULL,
    verified text NOT NULL,
    fault text DEFAULT ''::text NOT NULL,
    CONSTRAINT backup_verified_check CHECK ((verified = ANY (ARRAY[''::text, 'restored'::text, 'read'::text])))
);

CREATE TABLE public.card (
    gym_id uuid NOT NULL,
    card_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    guardian_id uuid,
    made_at timestamp with time zone NOT NULL,
    made_by uuid NOT NULL,
    expires_at timestamp with time zone NOT NULL,
    used_at timestamp with time zone,
    device_id uuid,
    voided_at timestamp with time zone
);

ALTER TABLE ONLY public.card FORCE ROW LEVEL SECURITY;

CREATE TABLE public.card_secret (
    secret_hash bytea NOT NULL,
    gym_id uuid NOT NULL,
    card_id uuid NOT NULL
);

CREATE TABLE public.catch_note (
    gym_id uuid NOT NULL,
    catch_note_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    stage text DEFAULT ''::text NOT NULL,
    day date NOT NULL,
    spot text DEFAULT ''::text NOT NULL,
    timing text DEFAULT ''::text NOT NULL,
    hands text DEFAULT ''::text NOT NULL,
    height text DEFAULT ''::text NOT NULL,
    takes_back uuid,
    noted_at timestamp with time zone NOT NULL,
    noted_by uuid NOT NULL
);

ALTER TABLE ONLY public.catch_note FORCE ROW LEVEL SECURITY;

CREATE TABLE public.class (
    gym_id uuid NOT NULL,
    class_id uuid NOT NULL,
    name text NOT NULL,
    name_key text NOT NULL,
    code text NOT NULL,
    created_at timestamp with time zone NOT NULL,
    archived_at timestamp with time zone,
    CONSTRAINT class_name_check CHECK ((name <> ''::text))
);

ALTER TABLE ONLY public.class FORCE ROW LEVEL SECURITY;

CREATE TABLE public.class_code (
    code text NOT NULL,
    gym_id uuid NOT NULL,
    class_id uuid NOT NULL
);

CREATE TABLE public.class_rope_kind (
    gym_id uuid NOT NULL,
    class_id uuid NOT NULL,
    kind text NOT NULL,
    CONSTRAINT class_rope_kind_kind_check CHECK ((kind = ANY (ARRAY['beaded'::text, 'cord'::text, 'steel'::text, 'cloth'::text, 'leather'::text])))
);

ALTER TABLE ONLY public.class_rope_kind FORCE ROW LEVEL SECURITY;

CREATE TABLE public.class_test (
    gym_id uuid NOT NULL,
    class_test_id uuid NOT NULL,
    class_id uuid NOT NULL,
    session_id uuid,
    day date NOT NULL,
    protocol text NOT NULL,
    seconds double precision NOT NULL,
    step text NOT NULL,
    rope_kind text DEFAULT ''::text NOT NULL,
    surface text DEFAULT ''::text NOT NULL,
    counted_by text NOT NULL,
    one_foot boolean DEFAULT false NOT NULL,
    opened_at timestamp with time zone NOT NULL,
    opened_by uuid NOT NULL,
    CONSTRAINT class_test_counted_by_check CHECK ((counted_by = ANY (ARRAY['self'::text, 'partner'::text, 'coach'::text]))),
    CONSTRAINT class_test_seconds_check CHECK ((seconds > (0)::double precision))
);

ALTER TABLE ONLY public.class_test FORCE ROW LEVEL SECURITY;

CREATE TABLE public.class_time (
    gym_id uuid NOT NULL,
    class_id uuid NOT NULL,
    weekday smallint NOT NULL,
    starts_at time without time zone NOT NULL,
    minutes smallint NOT NULL,
    CONSTRAINT class_time_minutes_check CHECK (((minutes >= 10) AND (minutes <= 240))),
    CONSTRAINT class_time_weekday_check CHECK (((weekday >= 1) AND (weekday <= 7)))
);

ALTER TABLE ONLY public.class_time FORCE ROW LEVEL SECURITY;

CREATE TABLE public.consent (
    gym_id uuid NOT NULL,
    consent_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    given boolean NOT NULL,
    by_name text NOT NULL,
    guardian_id uuid,
    how text NOT NULL,
    wording text NOT NULL,
    noted_at timestamp with time zone NOT NULL,
    noted_by uuid NOT NULL,
    purpose text DEFAULT 'records'::text NOT NULL,
    CONSTRAINT consent_by_name_check CHECK ((by_name <> ''::text)),
    CONSTRAINT consent_how_check CHECK ((how = ANY (ARRAY['paper'::text, 'spoken'::text, 'phone'::text]))),
    CONSTRAINT consent_purpose_check CHECK ((purpose = ANY (ARRAY['records'::text, 'phone'::text])))
);

ALTER TABLE ONLY public.consent FORCE ROW LEVEL SECURITY;

CREATE TABLE public.debrief (
    gym_id uuid NOT NULL,
    debrief_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    plan_id uuid,
    session_id uuid,
    day date NOT NULL,
    sets_done smallint,
    bursts smallint,
    clean_bursts smallint,
    catches smallint,
    contacts integer,
    minutes double precision,
    effort smallint,
    pain smallint DEFAULT 0 NOT NULL,
    pain_place text DEFAULT ''::text NOT NULL,
    pain_signs text[] DEFAULT '{}'::text[] NOT NULL,
    note text DEFAULT ''::text NOT NULL,
    corrects uuid,
    recorded_at timestamp with time zone NOT NULL,
    recorded_by uuid NOT NULL,
    CONSTRAINT debrief_bursts_check CHECK ((bursts >= 0)),
    CONSTRAINT debrief_catches_check CHECK ((catches >= 0)),
    CONSTRAINT debrief_clean_bursts_check CHECK ((clean_bursts >= 0)),
    CONSTRAINT debrief_contacts_check CHECK ((contacts >= 0)),
    CONSTRAINT debrief_effort_check CHECK (((effort >= 0) AND (effort <= 10))),
    CONSTRAINT debrief_minutes_check CHECK (((minutes >= (0)::double precision) AND (minutes <= (600)::double precision))),
    CONSTRAINT debrief_pain_check CHECK (((pain >= 0) AND (pain <= 10))),
    CONSTRAINT debrief_sets_done_check CHECK ((sets_done >= 0))
);

ALTER TABLE ONLY public.debrief FORCE ROW LEVEL SECURITY;

CREATE TABLE public.device (
    gym_id uuid NOT NULL,
    device_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    guardian_id uuid,
    label text DEFAULT ''::text NOT NULL,
    shared boolean DEFAULT false NOT NULL,
    let_in_at timestamp with time zone NOT NULL,
    last_seen_at timestamp with time zone NOT NULL,
    cut_off_at timestamp with time zone,
    cut_off_by uuid
);

ALTER TABLE ONLY public.device FORCE ROW LEVEL SECURITY;

CREATE TABLE public.enrolment (
    gym_id uuid NOT NULL,
    class_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    place integer NOT NULL,
    since date NOT NULL,
    until date
);

ALTER TABLE ONLY public.enrolment FORCE ROW LEVEL SECURITY;

CREATE TABLE public.erasure (
    gym_id uuid NOT NULL,
    erasure_id uuid NOT NULL,
    about text NOT NULL,
    about_id uuid NOT NULL,
    asked_for text NOT NULL,
    asked_at timestamp with time zone NOT NULL,
    asked_by uuid NOT NULL,
    keep_incidents boolean DEFAULT false NOT NULL,
    due_at timestamp with time zone NOT NULL,
    undone_at timestamp with time zone,
    undone_by uuid,
    done_at timestamp with time zone,
    report jsonb DEFAULT '{}'::jsonb NOT NULL,
    CONSTRAINT erasure_about_check CHECK ((about = ANY (ARRAY['athlete'::text, 'person'::text]))),
    CONSTRAINT erasure_asked_for_check CHECK ((asked_for = ANY (ARRAY['athlete'::text, 'guardian'::text, 'gym'::text, 'time'::text])))
);

ALTER TABLE ONLY public.erasure FORCE ROW LEVEL SECURITY;

CREATE TABLE public.first_code (
    code_hash bytea NOT NULL,
    made_at timestamp with time zone NOT NULL,
    expires_at timestamp with time zone NOT NULL,
    used_at timestamp with time zone
);

CREATE TABLE public.floor (
    gym_id uuid NOT NULL,
    class_id uuid NOT NULL,
    length_m double precision NOT NULL,
    width_m double precision NOT NULL,
    spacing_m double precision NOT NULL,
    surface text DEFAULT ''::text NOT NULL,
    note text DEFAULT ''::text NOT NULL,
    noted_at timestamp with time zone NOT NULL,
    noted_by uuid NOT NULL,
    CONSTRAINT floor_length_m_check CHECK (((length_m >= (2)::double precision) AND (length_m <= (200)::double precision))),
    CONSTRAINT floor_spacing_m_check CHECK (((spacing_m >= (2)::double precision) AND (spacing_m <= (10)::double precision))),
    CONSTRAINT floor_width_m_check CHECK (((width_m >= (2)::double precision) AND (width_m <= (200)::double precision)))
);

ALTER TABLE ONLY public.floor FORCE ROW LEVEL SECURITY;

CREATE TABLE public.guardian (
    gym_id uuid NOT NULL,
    guardian_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    name text NOT NULL,
    added_at timestamp with time zone NOT NULL,
    added_by uuid NOT NULL,
    removed_at timestamp with time zone,
    person_id uuid,
    CONSTRAINT guardian_name_check CHECK ((name <> ''::text))
);

ALTER TABLE ONLY public.guardian FORCE ROW LEVEL SECURITY;

CREATE TABLE public.guardian_told (
    gym_id uuid NOT NULL,
    told_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    about text NOT NULL,
    about_id uuid NOT NULL,
    guardian_id uuid,
    how text NOT NULL,
    at timestamp with time zone NOT NULL,
    by uuid NOT NULL,
    CONSTRAINT guardian_told_about_check CHECK ((about = ANY (ARRAY['hold'::text, 'incident'::text]))),
    CONSTRAINT guardian_told_how_check CHECK ((how = ANY (ARRAY['page'::text, 'spoken'::text])))
);

ALTER TABLE ONLY public.guardian_told FORCE ROW LEVEL SECURITY;

CREATE TABLE public.gym (
    gym_id uuid NOT NULL,
    name text NOT NULL,
    time_zone text NOT NULL,
    invented boolean DEFAULT false NOT NULL,
    adult_age smallint DEFAULT 16 NOT NULL,
    created_at timestamp with time zone NOT NULL,
    consent_age smallint DEFAULT 0 NOT NULL,
    second_factor_postponed boolean DEFAULT false NOT NULL,
    keep_athlete_months smallint DEFAULT 24 NOT NULL,
    keep_health_months smallint DEFAULT 12 NOT NULL,
    keep_incident_months smallint DEFAULT 36 NOT NULL,
    keep_audit_months smallint DEFAULT 24 NOT NULL,
    CONSTRAINT gym_consent_age_check CHECK (((consent_age >= 0) AND (consent_age <= 21))),
    CONSTRAINT gym_keep_athlete_months_check CHECK (((keep_athlete_months >= 1) AND (keep_athlete_months <= 120))),
    CONSTRAINT gym_keep_audit_months_check CHECK (((keep_audit_months >= 6) AND (keep_audit_months <= 120))),
    CONSTRAINT gym_keep_health_months_check CHECK (((keep_health_months >= 6) AND (keep_health_months <= 120))),
    CONSTRAINT gym_keep_incident_months_check CHECK (((keep_incident_months >= 1) AND (keep_incident_months <= 300))),
    CONSTRAINT gym_name_check CHECK ((name <> ''::text))
);

ALTER TABLE ONLY public.gym FORCE ROW LEVEL SECURITY;

CREATE TABLE public.gym_rules (
    gym_id uuid NOT NULL,
    rules_id uuid NOT NULL,
    rules json NOT NULL,
    reason text DEFAULT ''::text NOT NULL,
    set_at timestamp with time zone NOT NULL,
    set_by uuid NOT NULL
);

ALTER TABLE ONLY public.gym_rules FORCE ROW LEVEL SECURITY;

CREATE TABLE public.hand (
    gym_id uuid NOT NULL,
    hand_id uuid NOT NULL,
    session_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    up boolean NOT NULL,
    at timestamp with time zone NOT NULL,
    by uuid NOT NULL
);

ALTER TABLE ONLY public.hand FORCE ROW LEVEL SECURITY;

CREATE TABLE public.health_answer (
    gym_id uuid NOT NULL,
    answer_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    yes text[] NOT NULL,
    note text DEFAULT ''::text NOT NULL,
    answered_at timestamp with time zone NOT NULL,
    answered_by uuid NOT NULL
);

ALTER TABLE ONLY public.health_answer FORCE ROW LEVEL SECURITY;

CREATE TABLE public.health_talk (
    gym_id uuid NOT NULL,
    talk_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    note text DEFAULT ''::text NOT NULL,
    at timestamp with time zone NOT NULL,
    by uuid NOT NULL
);

ALTER TABLE ONLY public.health_talk FORCE ROW LEVEL SECURITY;

CREATE TABLE public.hold (
    gym_id uuid NOT NULL,
    hold_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    opened boolean NOT NULL,
    code text NOT NULL,
    reason text DEFAULT ''::text NOT NULL,
    debrief_id uuid,
    at timestamp with time zone NOT NULL,
    day date NOT NULL,
    by uuid NOT NULL
);

ALTER TABLE ONLY public.hold FORCE ROW LEVEL SECURITY;

CREATE TABLE public.holiday (
    gym_id uuid NOT NULL,
    holiday_id uuid NOT NULL,
    name text NOT NULL,
    starts_on date NOT NULL,
    ends_on date NOT NULL,
    CONSTRAINT holiday_check CHECK ((ends_on >= starts_on)),
    CONSTRAINT holiday_name_check CHECK ((name <> ''::text))
);

ALTER TABLE ONLY public.holiday FORCE ROW LEVEL SECURITY;

CREATE TABLE public.incident (
    gym_id uuid NOT NULL,
    incident_id uuid NOT NULL,
    class_id uuid,
    session_id uuid,
    athlete_id uuid,
    happened_at timestamp with time zone NOT NULL,
    place text NOT NULL,
    what text NOT NULL,
    seen_by text NOT NULL,
    done text NOT NULL,
    guardian_told text DEFAULT ''::text NOT NULL,
    corrects uuid,
    recorded_at timestamp with time zone NOT NULL,
    recorded_by uuid NOT NULL,
    CONSTRAINT incident_done_check CHECK ((done <> ''::text)),
    CONSTRAINT incident_place_check CHECK ((place <> ''::text)),
    CONSTRAINT incident_seen_by_check CHECK ((seen_by <> ''::text)),
    CONSTRAINT incident_what_check CHECK ((what <> ''::text))
);

ALTER TABLE ONLY public.incident FORCE ROW LEVEL SECURITY;

CREATE TABLE public.invitation (
    gym_id uuid NOT NULL,
    invitation_id uuid NOT NULL,
    name text NOT NULL,
    role text NOT NULL,
    made_at timestamp with time zone NOT NULL,
    made_by uuid NOT NULL,
    expires_at timestamp with time zone NOT NULL,
    used_at timestamp with time zone,
    used_by uuid,
    taken_back_at timestamp with time zone,
    CONSTRAINT invitation_name_check CHECK ((name <> ''::text)),
    CONSTRAINT invitation_role_check CHECK ((role = ANY (ARRAY['owner'::text, 'coach'::text, 'assistant'::text])))
);

ALTER TABLE ONLY public.invitation FORCE ROW LEVEL SECURITY;

CREATE TABLE public.invitation_code (
    code_hash bytea NOT NULL,
    gym_id uuid NOT NULL,
    invitation_id uuid NOT NULL
);

CREATE TABLE public.judgement (
    gym_id uuid NOT NULL,
    judgement_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    stage text NOT NULL,
    task text NOT NULL,
    good boolean NOT NULL,
    day date NOT NULL,
    takes_back uuid,
    judged_at timestamp with time zone NOT NULL,
    judged_by uuid NOT NULL,
    CONSTRAINT judgement_task_check CHECK ((task <> ''::text))
);

ALTER TABLE ONLY public.judgement FORCE ROW LEVEL SECURITY;

CREATE TABLE public.known_browser (
    token_hash bytea NOT NULL,
    person_id uuid NOT NULL,
    expires_at timestamp with time zone NOT NULL
);

CREATE TABLE public.ladder (
    gym_id uuid NOT NULL,
    ladder_id uuid NOT NULL,
    name text NOT NULL,
    in_use boolean DEFAULT false NOT NULL,
    created_at timestamp with time zone NOT NULL,
    key text DEFAULT 'ladder'::text NOT NULL,
    lang text DEFAULT 'en'::text NOT NULL,
    CONSTRAINT ladder_key_check CHECK ((key <> ''::text)),
    CONSTRAINT ladder_name_check CHECK ((name <> ''::text))
);

ALTER TABLE ONLY public.ladder FORCE ROW LEVEL SECURITY;

CREATE TABLE public.ladder_draft (
    gym_id uuid NOT NULL,
    ladder_id uuid NOT NULL,
    based_on integer NOT NULL,
    revision integer NOT NULL,
    body json NOT NULL,
    changed_at timestamp with time zone NOT NULL,
    changed_by uuid NOT NULL,
    CONSTRAINT ladder_draft_revision_check CHECK ((revision > 0))
);

ALTER TABLE ONLY public.ladder_draft FORCE ROW LEVEL SECURITY;

CREATE TABLE public.ladder_version (
    gym_id uuid NOT NULL,
    ladder_id uuid NOT NULL,
    version integer NOT NULL,
    published_at timestamp with time zone NOT NULL,
    published_by uuid,
    note text DEFAULT ''::text NOT NULL,
    CONSTRAINT ladder_version_version_check CHECK ((version > 0))
);

ALTER TABLE ONLY public.ladder_version FORCE ROW LEVEL SECURITY;

CREATE TABLE public.link (
    gym_id uuid NOT NULL,
    link_id uuid NOT NULL,
    kind text NOT NULL,
    class_id uuid,
    athlete_id uuid,
    session_id uuid,
    names boolean DEFAULT false NOT NULL,
    made_at timestamp with time zone NOT NULL,
    made_by uuid NOT NULL,
    expires_at timestamp with time zone,
    ended_at timestamp with time zone,
    CONSTRAINT link_kind_check CHECK ((kind = ANY (ARRAY['calendar'::text, 'screen'::text])))
);

ALTER TABLE ONLY public.link FORCE ROW LEVEL SECURITY;

CREATE TABLE public.link_secret (
    secret_hash bytea NOT NULL,
    gym_id uuid NOT NULL,
    link_id uuid NOT NULL
);

CREATE TABLE public.meeting_change (
    gym_id uuid NOT NULL,
    change_id uuid NOT NULL,
    class_id uuid NOT NULL,
    kind text NOT NULL,
    day date NOT NULL,
    starts_at time without time zone NOT NULL,
    to_day date,
    to_starts_at time without time zone,
    to_minutes smallint,
    reason text DEFAULT ''::text NOT NULL,
    made_at timestamp with time zone NOT NULL,
    made_by uuid NOT NULL,
    CONSTRAINT meeting_change_check CHECK (((kind = ANY (ARRAY['moved'::text, 'extra'::text])) = ((to_day IS NOT NULL) AND (to_starts_at IS NOT NULL) AND (to_minutes IS NOT NULL)))),
    CONSTRAINT meeting_change_kind_check CHECK ((kind = ANY (ARRAY['moved'::text, 'cancelled'::text, 'restored'::text, 'extra'::text]))),
    CONSTRAINT meeting_change_to_minutes_check CHECK (((to_minutes >= 10) AND (to_minutes <= 240)))
);

ALTER TABLE ONLY public.meeting_change FORCE ROW LEVEL SECURITY;

CREATE TABLE public.membership (
    gym_id uuid NOT NULL,
    person_id uuid NOT NULL,
    role text NOT NULL,
    since timestamp with time zone NOT NULL,
    until timestamp with time zone,
    CONSTRAINT membership_role_check CHECK ((role = ANY (ARRAY['owner'::text, 'coach'::text, 'assistant'::text, 'guardian'::text])))
);

ALTER TABLE ONLY public.membership FORCE ROW LEVEL SECURITY;

CREATE TABLE public.outfit (
    gym_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    height_cm smallint,
    shoes text DEFAULT ''::text NOT NULL,
    noted_at timestamp with time zone NOT NULL,
    noted_by uuid NOT NULL,
    CONSTRAINT outfit_height_cm_check CHECK (((height_cm >= 80) AND (height_cm <= 230))),
    CONSTRAINT outfit_shoes_check CHECK ((shoes = ANY (ARRAY[''::text, 'fit'::text, 'thin'::text, 'none'::text])))
);

ALTER TABLE ONLY public.outfit FORCE ROW LEVEL SECURITY;

CREATE TABLE public.person (
    person_id uuid NOT NULL,
    sign_in_name text NOT NULL,
    name text NOT NULL,
    lang text DEFAULT ''::text NOT NULL,
    password_hash text NOT NULL,
    created_at timestamp with time zone NOT NULL,
    CONSTRAINT person_name_check CHECK ((name <> ''::text))
);

CREATE TABLE public.phone_entry (
    gym_id uuid NOT NULL,
    entry_id uuid NOT NULL,
    kind text NOT NULL,
    sent_by uuid NOT NULL,
    device_id uuid,
    body_hash bytea NOT NULL,
    device_at timestamp with time zone NOT NULL,
    offset_ms bigint NOT NULL,
    received_at timestamp with time zone NOT NULL,
    CONSTRAINT phone_entry_kind_check CHECK ((kind <> ''::text))
);

ALTER TABLE ONLY public.phone_entry FORCE ROW LEVEL SECURITY;

CREATE TABLE public.plan (
    gym_id uuid NOT NULL,
    plan_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    class_id uuid NOT NULL,
    session_id uuid,
    day date NOT NULL,
    input json NOT NULL,
    output json NOT NULL,
    made_at timestamp with time zone NOT NULL,
    made_by uuid NOT NULL,
    sent_at timestamp with time zone,
    hour json,
    parts json,
    notes text[] DEFAULT '{}'::text[] NOT NULL
);

ALTER TABLE ONLY public.plan FORCE ROW LEVEL SECURITY;

CREATE TABLE public.purge (
    gym_id uuid NOT NULL,
    purge_id uuid NOT NULL,
    at timestamp with time zone NOT NULL,
    what text NOT NULL,
    rows integer NOT NULL,
    CONSTRAINT purge_rows_check CHECK ((rows > 0)),
    CONSTRAINT purge_what_check CHECK ((what = ANY (ARRAY['athletes'::text, 'health'::text, 'incidents'::text, 'audit'::text])))
);

ALTER TABLE ONLY public.purge FORCE ROW LEVEL SECURITY;

CREATE TABLE public.recovery_code (
    person_id uuid NOT NULL,
    code_hash bytea NOT NULL,
    made_at timestamp with time zone NOT NULL,
    used_at timestamp with time zone
);

CREATE TABLE public.report (
    gym_id uuid NOT NULL,
    report_id uuid NOT NULL,
    kind text NOT NULL,
    format text NOT NULL,
    paper text DEFAULT ''::text NOT NULL,
    term_id uuid,
    class_id uuid,
    athlete_id uuid,
    as_of date NOT NULL,
    state text NOT NULL,
    done integer DEFAULT 0 NOT NULL,
    of integer DEFAULT 0 NOT NULL,
    attempt uuid,
    file_name text DEFAULT ''::text NOT NULL,
    bytes bigint DEFAULT 0 NOT NULL,
    sha256 bytea,
    asked_at timestamp with time zone NOT NULL,
    asked_by uuid NOT NULL,
    finished_at timestamp with time zone,
    removed_at timestamp with time zone,
    language text DEFAULT 'en'::text NOT NULL,
    CONSTRAINT report_format_check CHECK ((format = ANY (ARRAY['pdf'::text, 'xlsx'::text, 'csv'::text, 'zip'::text]))),
    CONSTRAINT report_kind_check CHECK ((kind = ANY (ARRAY['athlete'::text, 'class'::text, 'gym'::text, 'athlete_data'::text, 'gym_data'::text]))),
    CONSTRAINT report_language_check CHECK (((length(language) >= 2) AND (length(language) <= 35))),
    CONSTRAINT report_paper_check CHECK ((paper = ANY (ARRAY[''::text, 'a4'::text, 'letter'::text]))),
    CONSTRAINT report_state_check CHECK ((state = ANY (ARRAY['waiting'::text, 'working'::text, 'done'::text, 'stopped'::text, 'broken'::text])))
);

ALTER TABLE ONLY public.report FORCE ROW LEVEL SECURITY;

CREATE TABLE public.report_comment (
    gym_id uuid NOT NULL,
    term_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    draft text DEFAULT ''::text NOT NULL,
    draft_aim text DEFAULT ''::text NOT NULL,
    comment text DEFAULT ''::text NOT NULL,
    aim text DEFAULT ''::text NOT NULL,
    revision integer NOT NULL,
    changed_at timestamp with time zone NOT NULL,
    changed_by uuid NOT NULL,
    shown_at timestamp with time zone,
    CONSTRAINT report_comment_revision_check CHECK ((revision > 0))
);

ALTER TABLE ONLY public.report_comment FORCE ROW LEVEL SECURITY;

CREATE TABLE public.report_piece (
    gym_id uuid NOT NULL,
    report_id uuid NOT NULL,
    attempt uuid NOT NULL,
    number integer NOT NULL,
    body bytea NOT NULL,
    CONSTRAINT report_piece_number_check CHECK ((number > 0))
);
ALTER TABLE ONLY public.report_piece ALTER COLUMN body SET STORAGE EXTERNAL;

ALTER TABLE ONLY public.report_piece FORCE ROW LEVEL SECURITY;

CREATE TABLE public.result (
    gym_id uuid NOT NULL,
    result_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    session_id uuid,
    protocol text NOT NULL,
    day date NOT NULL,
    taken_at timestamp with time zone NOT NULL,
    rotations integer,
    seconds double precision,
    catches integer DEFAULT 0 NOT NULL,
    lost_seconds double precision,
    longest_restart_seconds double precision,
    stopped_clean boolean DEFAULT false NOT NULL,
    successes integer,
    attempts integer,
    bouts integer[],
    rest_seconds double precision,
    flight_seconds double precision,
    taps double precision[],
    rotations_per_tap smallint,
    standard_error_rpm double precision,
    rpm_from_taps double precision,
    step text DEFAULT 'bounce'::text NOT NULL,
    rope_kind text DEFAULT ''::text NOT NULL,
    rope_id uuid,
    surface text DEFAULT ''::text NOT NULL,
    counted_by text NOT NULL,
    seen_by_coach boolean DEFAULT false NOT NULL,
    timing text DEFAULT 'hand'::text NOT NULL,
    note text DEFAULT ''::text NOT NULL,
    kept_odd boolean DEFAULT false NOT NULL,
    corrects uuid,
    void boolean DEFAULT false NOT NULL,
    recorded_at timestamp with time zone NOT NULL,
    recorded_by uuid NOT NULL,
    device_at timestamp with time zone,
    task text DEFAULT ''::text NOT NULL,
    unattended boolean DEFAULT false NOT NULL,
    one_foot boolean DEFAULT false NOT NULL,
    counts integer[],
    CONSTRAINT result_attempts_check CHECK ((attempts > 0)),
    CONSTRAINT result_catches_check CHECK ((catches >= 0)),
    CONSTRAINT result_counted_by_check CHECK ((counted_by = ANY (ARRAY['self'::text, 'partner'::text, 'coach'::text]))),
    CONSTRAINT result_flight_seconds_check CHECK ((flight_seconds > (0)::double precision)),
    CONSTRAINT result_longest_restart_seconds_check CHECK ((longest_restart_seconds >= (0)::double precision)),
    CONSTRAINT result_lost_seconds_check CHECK ((lost_seconds >= (0)::double precision)),
    CONSTRAINT result_rotations_check CHECK (((rotations >= 0) AND (rotations <= 99999))),
    CONSTRAINT result_rotations_per_tap_check CHECK ((rotations_per_tap = ANY (ARRAY[1, 2]))),
    CONSTRAINT result_seconds_check CHECK ((seconds > (0)::double precision)),
    CONSTRAINT result_successes_check CHECK ((successes >= 0)),
    CONSTRAINT result_timing_check CHECK ((timing = ANY (ARRAY['app'::text, 'hand'::text])))
);

ALTER TABLE ONLY public.result FORCE ROW LEVEL SECURITY;

CREATE TABLE public.rope (
    gym_id uuid NOT NULL,
    rope_id uuid NOT NULL,
    label text NOT NULL,
    kind text NOT NULL,
    length_m double precision,
    handle text DEFAULT ''::text NOT NULL,
    note text DEFAULT ''::text NOT NULL,
    athlete_id uuid,
    added_at timestamp with time zone NOT NULL,
    retired_at timestamp with time zone,
    CONSTRAINT rope_kind_check CHECK ((kind = ANY (ARRAY['beaded'::text, 'cord'::text, 'steel'::text, 'cloth'::text, 'leather'::text]))),
    CONSTRAINT rope_label_check CHECK ((label <> ''::text)),
    CONSTRAINT rope_length_m_check CHECK (((length_m >= (1)::double precision) AND (length_m <= (5)::double precision)))
);

ALTER TABLE ONLY public.rope FORCE ROW LEVEL SECURITY;

CREATE TABLE public.rope_check (
    gym_id uuid NOT NULL,
    rope_check_id uuid NOT NULL,
    rope_id uuid NOT NULL,
    sound boolean NOT NULL,
    note text DEFAULT ''::text NOT NULL,
    day date NOT NULL,
    checked_at timestamp with time zone NOT NULL,
    checked_by uuid NOT NULL
);

ALTER TABLE ONLY public.rope_check FORCE ROW LEVEL SECURITY;

CREATE TABLE public.rope_loan (
    gym_id uuid NOT NULL,
    rope_loan_id uuid NOT NULL,
    rope_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    lent boolean NOT NULL,
    decision jsonb DEFAULT '{}'::jsonb NOT NULL,
    day date NOT NULL,
    lent_at timestamp with time zone NOT NULL,
    lent_by uuid NOT NULL
);

ALTER TABLE ONLY public.rope_loan FORCE ROW LEVEL SECURITY;

CREATE TABLE public.run_event (
    gym_id uuid NOT NULL,
    session_id uuid NOT NULL,
    number integer NOT NULL,
    kind text NOT NULL,
    at timestamp with time zone NOT NULL,
    elapsed double precision NOT NULL,
    course json,
    by uuid NOT NULL,
    CONSTRAINT run_event_kind_check CHECK ((kind = ANY (ARRAY['start'::text, 'pause'::text, 'go_on'::text, 'move_on'::text, 'join'::text, 'end'::text]))),
    CONSTRAINT run_event_number_check CHECK ((number > 0))
);

ALTER TABLE ONLY public.run_event FORCE ROW LEVEL SECURITY;

CREATE TABLE public.schema_migrations (
    version bigint NOT NULL,
    dirty boolean NOT NULL
);

CREATE TABLE public.second_factor (
    person_id uuid NOT NULL,
    secret text NOT NULL,
    made_at timestamp with time zone NOT NULL,
    confirmed_at timestamp with time zone,
    last_step bigint DEFAULT 0 NOT NULL
);

CREATE TABLE public.session (
    gym_id uuid NOT NULL,
    session_id uuid NOT NULL,
    class_id uuid NOT NULL,
    day date NOT NULL,
    starts_at timestamp with time zone NOT NULL,
    minutes smallint NOT NULL,
    note text DEFAULT ''::text NOT NULL,
    opened_at timestamp with time zone,
    closed_at timestamp with time zone,
    CONSTRAINT session_minutes_check CHECK (((minutes >= 10) AND (minutes <= 240)))
);

ALTER TABLE ONLY public.session FORCE ROW LEVEL SECURITY;

CREATE TABLE public.set_log (
    gym_id uuid NOT NULL,
    set_log_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    plan_id uuid NOT NULL,
    set_number smallint NOT NULL,
    bursts smallint DEFAULT 0 NOT NULL,
    clean_bursts smallint DEFAULT 0 NOT NULL,
    catches_steady smallint DEFAULT 0 NOT NULL,
    catches_burst smallint DEFAULT 0 NOT NULL,
    shortened boolean DEFAULT false NOT NULL,
    done_at timestamp with time zone NOT NULL,
    recorded_at timestamp with time zone NOT NULL,
    recorded_by uuid NOT NULL,
    CONSTRAINT set_log_bursts_check CHECK ((bursts >= 0)),
    CONSTRAINT set_log_catches_burst_check CHECK ((catches_burst >= 0)),
    CONSTRAINT set_log_catches_steady_check CHECK ((catches_steady >= 0)),
    CONSTRAINT set_log_check CHECK (((clean_bursts >= 0) AND (clean_bursts <= bursts))),
    CONSTRAINT set_log_set_number_check CHECK ((set_number > 0))
);

ALTER TABLE ONLY public.set_log FORCE ROW LEVEL SECURITY;

CREATE TABLE public.sign_in (
    token_hash bytea NOT NULL,
    data bytea NOT NULL,
    expires_at timestamp with time zone NOT NULL,
    person_id uuid,
    athlete_id uuid,
    gym_id uuid,
    device_id uuid,
    role text DEFAULT ''::text NOT NULL,
    label text DEFAULT ''::text NOT NULL,
    began_at timestamp with time zone DEFAULT now() NOT NULL,
    seen_at timestamp with time zone DEFAULT now() NOT NULL,
    idle_seconds integer,
    ended_at timestamp with time zone,
    CONSTRAINT sign_in_idle_seconds_check CHECK ((idle_seconds > 0))
);

CREATE TABLE public.stage (
    gym_id uuid NOT NULL,
    ladder_id uuid NOT NULL,
    version integer NOT NULL,
    number integer NOT NULL,
    key text NOT NULL,
    title text NOT NULL,
    body jsonb NOT NULL,
    CONSTRAINT stage_key_check CHECK ((key <> ''::text)),
    CONSTRAINT stage_number_check CHECK ((number > 0)),
    CONSTRAINT stage_title_check CHECK ((title <> ''::text))
);

ALTER TABLE ONLY public.stage FORCE ROW LEVEL SECURITY;

CREATE TABLE public.stage_decision (
    gym_id uuid NOT NULL,
    decision_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    verdict text NOT NULL,
    stage_from text DEFAULT ''::text NOT NULL,
    stage_to text NOT NULL,
    ladder_id uuid NOT NULL,
    version integer NOT NULL,
    reason text DEFAULT ''::text NOT NULL,
    evidence jsonb DEFAULT '[]'::jsonb NOT NULL,
    takes_back uuid,
    decided_on date NOT NULL,
    decided_at timestamp with time zone NOT NULL,
    decided_by uuid NOT NULL,
    CONSTRAINT stage_decision_verdict_check CHECK ((verdict = ANY (ARRAY['start'::text, 'up'::text, 'stay'::text, 'down'::text, 'back'::text, 'moved'::text])))
);

ALTER TABLE ONLY public.stage_decision FORCE ROW LEVEL SECURITY;

CREATE TABLE public.steel_approval (
    gym_id uuid NOT NULL,
    steel_approval_id uuid NOT NULL,
    athlete_id uuid NOT NULL,
    approved boolean NOT NULL,
    reason text NOT NULL,
    day date NOT NULL,
    approved_at timestamp with time zone NOT NULL,
    approved_by uuid NOT NULL
);

ALTER TABLE ONLY public.steel_approval FORCE ROW LEVEL SECURITY;

CREATE TABLE public.term (
    gym_id uuid NOT NULL,
    term_id uuid NOT NULL,
    name text NOT NULL,
    starts_on date NOT NULL,
    ends_on date NOT NULL,
    CONSTRAINT term_check CHECK ((ends_on >= starts_on)),
    CONSTRAINT term_name_check CHECK ((name <> ''::text))
);

ALTER TABLE ONLY public.term FORCE ROW LEVEL SECURITY;

CREATE TABLE public.way_back (
    code_hash bytea NOT NULL,
    person_id uuid NOT NULL,
    gym_id uuid NOT NULL,
    made_by uuid NOT NULL,
    made_at timestamp with time zone NOT NULL,
    expires_at timestamp with time zone NOT NULL,
    used_at timestamp with time zone
);

CREATE TABLE public.wrong_try (
    subject text NOT NULL,
    tries integer NOT NULL,
    blocked_to timestamp with time zone NOT NULL,
    last_at timestamp with time zone NOT NULL
);

CREATE TABLE river.river_job (
    id bigint NOT NULL,
    state river.river_job_state DEFAULT 'available'::river.river_job_state NOT NULL,
    attempt smallint DEFAULT 0 NOT NULL,
    max_attempts smallint DEFAULT 25 NOT NULL,
    attempted_at timestamp with time zone,
    created_at timestamp with time zone DEFAULT now() NOT NULL,
    finalized_at timestamp with time zone,
    scheduled_at timestamp with time zone DEFAULT now() NOT NULL,
    priority smallint DEFAULT 1 NOT NULL,
    args jsonb NOT NULL,
    attempted_by text[],
    errors jsonb[],
    kind text NOT NULL,
    metadata jsonb DEFAULT '{}'::jsonb NOT NULL,
    queue text DEFAULT 'default'::text NOT NULL,
    tags character varying(255)[] DEFAULT '{}'::character varying[] NOT NULL,
    unique_key bytea,
    unique_states bit(8),
    CONSTRAINT finalized_or_finalized_at_null CHECK ((((finalized_at IS NULL) AND (state <> ALL (ARRAY['cancelled'::river.river_job_state, 'completed'::river.river_job_state, 'discarded'::river.river_job_state]))) OR ((finalized_at IS NOT NULL) AND (state = ANY (ARRAY['cancelled'::river.river_job_state, 'completed'::river.river_job_state, 'discarded'::river.river_job_state]))))),
    CONSTRAINT kind_length CHECK (((char_length(kind) > 0) AND (char_length(kind) < 128))),
    CONSTRAINT max_attempts_is_positive CHECK ((max_attempts > 0)),
    CONSTRAINT priority_in_range CHECK (((priority >= 1) AND (priority <= 4))),
    CONSTRAINT queue_length CHECK (((char_length(queue) > 0) AND (char_length(queue) < 128)))
);

CREATE SEQUENCE river.river_job_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1;

ALTER SEQUENCE river.river_job_id_seq OWNED BY river.river_job.id;

CREATE UNLOGGED TABLE river.river_leader (
    elected_at timestamp with time zone NOT NULL,
    expires_at timestamp with time zone NOT NULL,
    leader_id text NOT NULL,
    name text DEFAULT 'default'::text NOT NULL,
    CONSTRAINT leader_id_length CHECK (((char_length(leader_id) > 0) AND (char_length(leader_id) < 128))),
    CONSTRAINT name_length CHECK ((name = 'default'::text))
);

CREATE TABLE river.river_migration (
    line text NOT NULL,
    version bigint NOT NULL,
    created_at timestamp with time zone DEFAULT now() NOT NULL,
    CONSTRAINT line_length CHECK (((char_length(line) > 0) AND (char_length(line) < 128))),
    CONSTRAINT version_gte_1 CHECK ((version >= 1))
);

CREATE TABLE river.river_notification (
    id bigint NOT NULL,
    created_at timestamp with time zone DEFAULT now() NOT NULL,
    payload text NOT NULL,
    topic text NOT NULL,
    CONSTRAINT topic_length CHECK (((length(topic) > 0) AND (length(topic) < 128)))
);

CREATE SEQUENCE river.river_notification_id_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1;

ALTER SEQUENCE river.river_notification_id_seq OWNED BY river.river_notification.id;

CREATE TABLE river.river_queue (
    name text NOT NULL,
    created_at timestamp with time zone DEFAULT now() NOT NULL,
    metadata jsonb DEFAULT '{}'::jsonb NOT NULL,
    paused_at timestamp with time zone,
    updated_at timestamp with time zone DEFAULT CURRENT_TIMESTAMP NOT NULL
);

ALTER TABLE ONLY river.river_job ALTER COLUMN id SET DEFAULT nextval('river.river_job_id_seq'::regclass);

ALTER TABLE ONLY river.river_notification ALTER COLUMN id SET DEFAULT nextval('river.river_notification_id_seq'::regclass);

ALTER TABLE ONLY public.api_token
    ADD CONSTRAINT api_token_gym_id_token_hash_key UNIQUE (gym_id, token_hash);

ALTER TABLE ONLY public.api_token
    ADD CONSTRAINT api_token_pkey PRIMARY KEY (gym_id, api_token_id);

ALTER TABLE ONLY public.assignment
    ADD CONSTRAINT assignment_pkey PRIMARY KEY (gym_id, assignment_id);

ALTER TABLE ONLY public.athlete
    ADD CONSTRAINT athlete_pkey PRIMARY KEY (gym_id, athlete_id);

ALTER TABLE ONLY public.attendance
    ADD CONSTRAINT attendance_pkey PRIMARY KEY (gym_id, session_id, athlete_id);

ALTER TABLE ONLY public.audit
    ADD CONSTRAINT audit_pkey PRIMARY KEY (gym_id, audit_id);

ALTER TABLE ONLY public.backup
    ADD CONSTRAINT backup_pkey PRIMARY KEY (backup_id);

ALTER TABLE ONLY public.card
    ADD CONSTRAINT card_pkey PRIMARY KEY (gym_id, card_id);

ALTER TABLE ONLY public.card_secret
    ADD CONSTRAINT card_secret_pkey PRIMARY KEY (secret_hash);

ALTER TABLE ONLY public.catch_note
    ADD CONSTRAINT catch_note_pkey PRIMARY KEY (gym_id, catch_note_id);

ALTER TABLE ONLY public.class_code
    ADD CONSTRAINT class_code_pkey PRIMARY KEY (code);

ALTER TABLE ONLY public.class
    ADD CONSTRAINT class_gym_id_name_key_key UNIQUE (gym_id, name_key);

ALTER TABLE ONLY public.class
    ADD CONSTRAINT class_pkey PRIMARY KEY (gym_id, class_id);

ALTER TABLE ONLY public.class_rope_kind
    ADD CONSTRAINT class_rope_kind_pkey PRIMARY KEY (gym_id, class_id, kind);

ALTER TABLE ONLY public.class_test
    ADD CONSTRAINT class_test_pkey PRIMARY KEY (gym_id, class_test_id);

ALTER TABLE ONLY public.class_time
    ADD CONSTRAINT class_time_pkey PRIMARY KEY (gym_id, class_id, weekday, starts_at);

ALTER TABLE ONLY public.consent
    ADD CONSTRAINT consent_pkey PRIMARY KEY (gym_id, consent_id);

ALTER TABLE ONLY public.debrief
    ADD CONSTRAINT debrief_pkey PRIMARY KEY (gym_id, debrief_id);

ALTER TABLE ONLY public.device
    ADD CONSTRAINT device_pkey PRIMARY KEY (gym_id, device_id);

ALTER TABLE ONLY public.enrolment
    ADD CONSTRAINT enrolment_pkey PRIMARY KEY (gym_id, class_id, athlete_id);

ALTER TABLE ONLY public.erasure
    ADD CONSTRAINT erasure_pkey PRIMARY KEY (gym_id, erasure_id);

ALTER TABLE ONLY public.first_code
    ADD CONSTRAINT first_code_pkey PRIMARY KEY (code_hash);

ALTER TABLE ONLY public.floor
    ADD CONSTRAINT floor_pkey PRIMARY KEY (gym_id, class_id);

ALTER TABLE ONLY public.guardian
    ADD CONSTRAINT guardian_pkey PRIMARY KEY (gym_id, guardian_id);

ALTER TABLE ONLY public.guardian_told
    ADD CONSTRAINT guardian_told_pkey PRIMARY KEY (gym_id, told_id);

ALTER TABLE ONLY public.gym
    ADD CONSTRAINT gym_pkey PRIMARY KEY (gym_id);

ALTER TABLE ONLY public.gym_rules
    ADD CONSTRAINT gym_rules_pkey PRIMARY KEY (gym_id, rules_id);

ALTER TABLE ONLY public.hand
    ADD CONSTRAINT hand_pkey PRIMARY KEY (gym_id, hand_id);

ALTER TABLE ONLY public.health_answer
    ADD CONSTRAINT health_answer_pkey PRIMARY KEY (gym_id, answer_id);

ALTER TABLE ONLY public.health_talk
    ADD CONSTRAINT health_talk_pkey PRIMARY KEY (gym_id, talk_id);

ALTER TABLE ONLY public.hold
    ADD CONSTRAINT hold_pkey PRIMARY KEY (gym_id, hold_id);

ALTER TABLE ONLY public.holiday
    ADD CONSTRAINT holiday_pkey PRIMARY KEY (gym_id, holiday_id);

ALTER TABLE ONLY public.incident
    ADD CONSTRAINT incident_pkey PRIMARY KEY (gym_id, incident_id);

ALTER TABLE ONLY public.invitation_code
    ADD CONSTRAINT invitation_code_pkey PRIMARY KEY (code_hash);

ALTER TABLE ONLY public.invitation
    ADD CONSTRAINT invitation_pkey PRIMARY KEY (gym_id, invitation_id);

ALTER TABLE ONLY public.judgement
    ADD CONSTRAINT judgement_pkey PRIMARY KEY (gym_id, judgement_id);

ALTER TABLE ONLY public.known_browser
    ADD CONSTRAINT known_browser_pkey PRIMARY KEY (token_hash);

ALTER TABLE ONLY public.ladder_draft
    ADD CONSTRAINT ladder_draft_pkey PRIMARY KEY (gym_id, ladder_id);

ALTER TABLE ONLY public.ladder
    ADD CONSTRAINT ladder_pkey PRIMARY KEY (gym_id, ladder_id);

ALTER TABLE ONLY public.ladder_version
    ADD CONSTRAINT ladder_version_pkey PRIMARY KEY (gym_id, ladder_id, version);

ALTER TABLE ONLY public.link
    ADD CONSTRAINT link_pkey PRIMARY KEY (gym_id, link_id);

ALTER TABLE ONLY public.link_secret
    ADD CONSTRAINT link_secret_pkey PRIMARY KEY (secret_hash);

ALTER TABLE ONLY public.meeting_change
    ADD CONSTRAINT meeting_change_pkey PRIMARY KEY (gym_id, change_id);

ALTER TABLE ONLY public.membership
    ADD CONSTRAINT membership_pkey PRIMARY KEY (gym_id, person_id, role);

ALTER TABLE ONLY public.outfit
    ADD CONSTRAINT outfit_pkey PRIMARY KEY (gym_id, athlete_id);

ALTER TABLE ONLY public.person
    ADD CONSTRAINT person_pkey PRIMARY KEY (person_id);

ALTER TABLE ONLY public.person
    ADD CONSTRAINT person_sign_in_name_key UNIQUE (sign_in_name);

ALTER TABLE ONLY public.phone_entry
    ADD CONSTRAINT phone_entry_pkey PRIMARY KEY (gym_id, entry_id);

ALTER TABLE ONLY public.plan
    ADD CONSTRAINT plan_pkey PRIMARY KEY (gym_id, plan_id);

ALTER TABLE ONLY public.purge
    ADD CONSTRAINT purge_pkey PRIMARY KEY (gym_id, purge_id);

ALTER TABLE ONLY public.recovery_code
    ADD CONSTRAINT recovery_code_pkey PRIMARY KEY (person_id, code_hash);

ALTER TABLE ONLY public.report_comment
    ADD CONSTRAINT report_comment_pkey PRIMARY KEY (gym_id, term_id, athlete_id);

ALTER TABLE ONLY public.report_piece
    ADD CONSTRAINT report_piece_pkey PRIMARY KEY (gym_id, report_id, attempt, number);

ALTER TABLE ONLY public.report
    ADD CONSTRAINT report_pkey PRIMARY KEY (gym_id, report_id);

ALTER TABLE ONLY public.result
    ADD CONSTRAINT result_pkey PRIMARY KEY (gym_id, result_id);

ALTER TABLE ONLY public.rope_check
    ADD CONSTRAINT rope_check_pkey PRIMARY KEY (gym_id, rope_check_id);

ALTER TABLE ONLY public.rope
    ADD CONSTRAINT rope_gym_id_label_key UNIQUE (gym_id, label);

ALTER TABLE ONLY public.rope_loan
    ADD CONSTRAINT rope_loan_pkey PRIMARY KEY (gym_id, rope_loan_id);

ALTER TABLE ONLY public.rope
    ADD CONSTRAINT rope_pkey PRIMARY KEY (gym_id, rope_id);

ALTER TABLE ONLY public.run_event
    ADD CONSTRAINT run_event_pkey PRIMARY KEY (gym_id, session_id, number);

ALTER TABLE ONLY public.schema_migrations
    ADD CONSTRAINT schema_migrations_pkey PRIMARY KEY (version);

ALTER TABLE ONLY public.second_factor
    ADD CONSTRAINT second_factor_pkey PRIMARY KEY (person_id);

ALTER TABLE ONLY public.session
    ADD CONSTRAINT session_gym_id_class_id_starts_at_key UNIQUE (gym_id, class_id, starts_at);

ALTER TABLE ONLY public.session
    ADD CONSTRAINT session_pkey PRIMARY KEY (gym_id, session_id);

ALTER TABLE ONLY public.set_log
    ADD CONSTRAINT set_log_pkey PRIMARY KEY (gym_id, set_log_id);

ALTER TABLE ONLY public.sign_in
    ADD CONSTRAINT sign_in_pkey PRIMARY KEY (token_hash);

ALTER TABLE ONLY public.stage_decision
    ADD CONSTRAINT stage_decision_pkey PRIMARY KEY (gym_id, decision_id);

ALTER TABLE ONLY public.stage
    ADD CONSTRAINT stage_gym_id_ladder_id_version_key_key UNIQUE (gym_id, ladder_id, version, key);

ALTER TABLE ONLY public.stage
    ADD CONSTRAINT stage_pkey PRIMARY KEY (gym_id, ladder_id, version, number);

ALTER TABLE ONLY public.steel_approval
    ADD CONSTRAINT steel_approval_pkey PRIMARY KEY (gym_id, steel_approval_id);

ALTER TABLE ONLY public.term
    ADD CONSTRAINT term_pkey PRIMARY KEY (gym_id, term_id);

ALTER TABLE ONLY public.way_back
    ADD CONSTRAINT way_back_pkey PRIMARY KEY (code_hash);

ALTER TABLE ONLY public.wrong_try
    ADD CONSTRAINT wrong_try_pkey PRIMARY KEY (subject);

ALTER TABLE ONLY river.river_job
    ADD CONSTRAINT river_job_pkey PRIMARY KEY (id);

ALTER TABLE ONLY river.river_leader
    ADD CONSTRAINT river_leader_pkey PRIMARY KEY (name);

ALTER TABLE ONLY river.river_migration
    ADD CONSTRAINT river_migration_pkey PRIMARY KEY (line, version);

ALTER TABLE ONLY river.river_notification
    ADD CONSTRAINT river_notification_pkey PRIMARY KEY (id);

ALTER TABLE ONLY river.river_queue
    ADD CONSTRAINT river_queue_pkey PRIMARY KEY (name);

CREATE INDEX assignment_by_athlete ON public.assignment USING btree (gym_id, athlete_id, day DESC);

CREATE UNIQUE INDEX assignment_taken_back_once ON public.assignment USING btree (gym_id, takes_back) WHERE (takes_back IS NOT NULL);

CREATE UNIQUE INDEX athlete_once ON public.athlete USING btree (gym_id, name_key, COALESCE((birth_year)::integer, 0));

CREATE INDEX attendance_by_athlete ON public.attendance USING btree (gym_id, athlete_id);

CREATE INDEX audit_by_subject ON public.audit USING btree (gym_id, subject_id, at DESC) WHERE (subject_id IS NOT NULL);

CREATE INDEX audit_by_time ON public.audit USING btree (gym_id, at DESC);

CREATE INDEX backup_by_time ON public.backup USING btree (ended_at DESC);

CREATE INDEX card_by_athlete ON public.card USING btree (gym_id, athlete_id);

CREATE INDEX catch_note_by_athlete ON public.catch_note USING btree (gym_id, athlete_id, day DESC);

CREATE UNIQUE INDEX catch_note_taken_back_once ON public.catch_note USING btree (gym_id, takes_back) WHERE (takes_back IS NOT NULL);

CREATE INDEX class_test_by_class ON public.class_test USING btree (gym_id, class_id, day DESC, opened_at DESC);

CREATE INDEX consent_by_athlete ON public.consent USING btree (gym_id, athlete_id, purpose, noted_at DESC);

CREATE INDEX debrief_by_athlete ON public.debrief USING btree (gym_id, athlete_id, day DESC, recorded_at DESC);

CREATE UNIQUE INDEX debrief_corrected_once ON public.debrief USING btree (gym_id, corrects) WHERE (corrects IS NOT NULL);

CREATE INDEX device_by_athlete ON public.device USING btree (gym_id, athlete_id);

CREATE INDEX enrolment_by_athlete ON public.enrolment USING btree (gym_id, athlete_id);

CREATE UNIQUE INDEX erasure_once ON public.erasure USING btree (gym_id, about_id) WHERE ((undone_at IS NULL) AND (done_at IS NULL));

CREATE INDEX guardian_by_athlete ON public.guardian USING btree (gym_id, athlete_id);

CREATE INDEX guardian_by_person ON public.guardian USING btree (gym_id, person_id) WHERE (person_id IS NOT NULL);

CREATE INDEX guardian_told_by_athlete ON public.guardian_told USING btree (gym_id, athlete_id, at DESC);

CREATE INDEX gym_rules_by_time ON public.gym_rules USING btree (gym_id, set_at DESC);

CREATE INDEX hand_by_session ON public.hand USING btree (gym_id, session_id, at);

CREATE INDEX health_answer_by_athlete ON public.health_answer USING btree (gym_id, athlete_id, answered_at DESC);

CREATE INDEX health_talk_by_athlete ON public.health_talk USING btree (gym_id, athlete_id, at DESC);

CREATE INDEX hold_by_athlete ON public.hold USING btree (gym_id, athlete_id, at DESC);

CREATE INDEX incident_by_athlete ON public.incident USING btree (gym_id, athlete_id) WHERE (athlete_id IS NOT NULL);

CREATE INDEX incident_by_time ON public.incident USING btree (gym_id, happened_at DESC);

CREATE UNIQUE INDEX incident_corrected_once ON public.incident USING btree (gym_id, corrects) WHERE (corrects IS NOT NULL);

CREATE INDEX judgement_by_athlete ON public.judgement USING btree (gym_id, athlete_id, day DESC);

CREATE UNIQUE INDEX judgement_taken_back_once ON public.judgement USING btree (gym_id, takes_back) WHERE (takes_back IS NOT NULL);

CREATE INDEX known_browser_by_person ON public.known_browser USING btree (person_id);

CREATE UNIQUE INDEX ladder_in_use ON public.ladder USING btree (gym_id) WHERE in_use;

CREATE INDEX link_by_class ON public.link USING btree (gym_id, class_id);

CREATE INDEX meeting_change_by_class ON public.meeting_change USING btree (gym_id, class_id, made_at);

CREATE INDEX membership_by_person ON public.membership USING btree (person_id);

CREATE INDEX phone_entry_by_sender ON public.phone_entry USING btree (gym_id, sent_by, received_at DESC);

CREATE INDEX plan_by_athlete ON public.plan USING btree (gym_id, athlete_id, day DESC, made_at DESC);

CREATE INDEX plan_by_class ON public.plan USING btree (gym_id, class_id, day DESC, made_at DESC);

CREATE INDEX purge_by_time ON public.purge USING btree (gym_id, at DESC);

CREATE INDEX report_by_athlete ON public.report USING btree (gym_id, athlete_id) WHERE (athlete_id IS NOT NULL);

CREATE INDEX report_by_time ON public.report USING btree (gym_id, asked_at DESC);

CREATE INDEX result_by_athlete ON public.result USING btree (gym_id, athlete_id, day DESC, taken_at DESC);

CREATE INDEX result_by_day ON public.result USING btree (gym_id, day);

CREATE INDEX result_by_session ON public.result USING btree (gym_id, session_id) WHERE (session_id IS NOT NULL);

CREATE UNIQUE INDEX result_corrected_once ON public.result USING btree (gym_id, corrects) WHERE (corrects IS NOT NULL);

CREATE INDEX rope_check_by_rope ON public.rope_check USING btree (gym_id, rope_id, checked_at DESC);

CREATE INDEX rope_loan_by_athlete ON public.rope_loan USING btree (gym_id, athlete_id, lent_at DESC);

CREATE INDEX rope_loan_by_rope ON public.rope_loan USING btree (gym_id, rope_id, lent_at DESC);

CREATE INDEX session_by_day ON public.session USING btree (gym_id, day);

CREATE INDEX set_log_by_athlete ON public.set_log USING btree (gym_id, athlete_id, done_at);

CREATE INDEX set_log_by_plan ON public.set_log USING btree (gym_id, plan_id);

CREATE INDEX sign_in_by_athlete ON public.sign_in USING btree (gym_id, athlete_id) WHERE (athlete_id IS NOT NULL);

CREATE INDEX sign_in_by_device ON public.sign_in USING btree (gym_id, device_id) WHERE (device_id IS NOT NULL);

CREATE INDEX sign_in_by_expiry ON public.sign_in USING btree (expires_at);

CREATE INDEX sign_in_by_person ON public.sign_in USING btree (person_id) WHERE (person_id IS NOT NULL);

CREATE INDEX stage_decision_by_athlete ON public.stage_decision USING btree (gym_id, athlete_id, decided_at DESC);

CREATE UNIQUE INDEX stage_decision_taken_back_once ON public.stage_decision USING btree (gym_id, takes_back) WHERE (takes_back IS NOT NULL);

CREATE INDEX steel_approval_by_athlete ON public.steel_approval USING btree (gym_id, athlete_id, approved_at DESC);

CREATE INDEX way_back_by_person ON public.way_back USING btree (person_id);

CREATE INDEX river_job_args_index ON river.river_job USING gin (args);

CREATE INDEX river_job_kind ON river.river_job USING btree (kind);

CREATE INDEX river_job_metadata_index ON river.river_job USING gin (metadata);

CREATE INDEX river_job_prioritized_fetching_index ON river.river_job USING btree (state, queue, priority, scheduled_at, id);

CREATE INDEX river_job_state_and_finalized_at_index ON river.river_job USING btree (state, finalized_at) WHERE (finalized_at IS NOT NULL);

CREATE UNIQUE INDEX river_job_unique_idx ON river.river_job USING btree (unique_key) WHERE ((unique_key IS NOT NULL) AND (unique_states IS NOT NULL) AND river.river_job_state_in_bitmask(unique_states, state));

CREATE INDEX river_notification_created_at_idx ON river.river_notification USING btree (created_at);

CREATE INDEX river_notification_topic_id_idx ON river.river_notification USING btree (topic, id);

ALTER TABLE ONLY public.api_token
    ADD CONSTRAINT api_token_gym_id_fkey FOREIGN KEY (gym_id) REFERENCES public.gym(gym_id);

ALTER TABLE ONLY public.assignment
    ADD CONSTRAINT assignment_gym_id_athlete_id_fkey FOREIGN KEY (gym_id, athlete_id) REFERENCES public.athlete(gym_id, athlete_id);

ALTER TABLE ONLY public.assignment
    ADD CONSTRAINT assignment_gym_id_takes_back_fkey FOREIGN KEY (gym_id, takes_back) REFERENCES public.assignment(gym_id, assignment_id);

ALTER TABLE ONLY public.athlete
    ADD CONSTRAINT athlete_gym_id_fkey FOREIGN KEY (gym_id) REFERENCES public.gym(gym_id);

ALTER TABLE ONLY public.attendance
    ADD CONSTRAINT attendance_gym_id_athlete_id_fkey FOREIGN KEY (gym_id, athlete_id) REFERENCES public.athlete(gym_id, athlete_id);

ALTER TABLE ONLY public.attendance
    ADD CONSTRAINT attendance_gym_id_session_id_fkey FOREIGN KEY (gym_id, session_id) REFERENCES public.session(gym_id, session_id);

ALTER TABLE ONLY public.audit
    ADD CONSTRAINT audit_gym_id_fkey FOREIGN KEY (gym_id) REFERENCES public.gym(gym_id);

ALTER TABLE ONLY public.card
    ADD CONSTRAINT card_gym_id_athlete_id_fkey FOREIGN KEY (gym_id, athlete_id) REFERENCES public.athlete(gym_id, athlete_id);

ALTER TABLE ONLY public.card
    ADD CONSTRAINT card_gym_id_device_id_fkey FOREIGN KEY (gym_id, device_id) REFERENCES public.device(gym_id, device_id);

ALTER TABLE ONLY public.card
    ADD CONSTRAINT card_gym_id_guardian_id_fkey FOREIGN KEY (gym_id, guardian_id) REFERENCES public.guardian(gym_id, guardian_id);

ALTER TABLE ONLY public.card_secret
    ADD CONSTRAINT card_secret_gym_id_card_id_fkey FOREIGN KEY (gym_id, card_id) REFERENCES public.card(gym_id, card_id);

ALTER TABLE ONLY public.catch_note
    ADD CONSTRAINT catch_note_gym_id_athlete_id_fkey FOREIGN KEY (gym_id, athlete_id) REFERENCES public.athlete(gym_id, athlete_id);

ALTER TABLE ONLY public.catch_note
    ADD CONSTRAINT catch_note_gym_id_takes_back_fkey FOREIGN KEY (gym_id, takes_back) REFERENCES public.catch_note(gym_id, catch_note_id);

ALTER TABLE ONLY public.class_code
    ADD CONSTRAINT class_code_gym_id_class_id_fkey FOREIGN KEY (gym_id, class_id) REFERENCES public.class(gym_id, class_id);

ALTER TABLE ONLY public.class
    ADD CONSTRAINT class_gym_id_fkey FOREIGN KEY (gym_id) REFERENCES public.gym(gym_id);

ALTER TABLE ONLY public.class_rope_kind
    ADD CONSTRAINT class_rope_kind_gym_id_class_id_fkey FOREIGN KEY (gym_id, class_id) REFERENCES public.class(gym_id, class_id);

ALTER TABLE ONLY public.class_test
    ADD CONSTRAINT class_test_gym_id_class_id_fkey FOREIGN KEY (gym_id, class_id) REFERENCES public.class(gym_id, class_id);

ALTER TABLE ONLY public.class_test
    ADD CONSTRAINT class_test_gym_id_session_id_fkey FOREIGN KEY (gym_id, session_id) REFERENCES public.session(gym_id, session_id);

ALTER TABLE ONLY public.class_time
    ADD CONSTRAINT class_time_gym_id_class_id_fkey FOREIGN KEY (gym_id, class_id) REFERENCES public.class(gym_id, class_id);

ALTER TABLE ONLY public.consent
    ADD CONSTRAINT consent_gym_id_athlete_id_fkey FOREIGN KEY (gym_id, athlete_id) REFERENCES public.athlete(gym_id, athlete_id);

ALTER TABLE ONLY public.consent
    ADD CONSTRAINT consent_gym_id_guardian_id_fkey FOREIGN KEY (gym_id, guardian_id) REFERENCES public.guardian(gym_id, guardian_id);

ALTER TABLE ONLY public.debrief
    ADD CONSTRAINT debrief_gym_id_athlete_id_fkey FOREIGN KEY (gym_id, athlete_id) REFERENCES public.athlete(gym_id, athlete_id);

ALTER TABLE ONLY public.debrief
    ADD CONSTRAINT debrief_gym_id_corrects_fkey FOREIGN KEY (gym_id, corrects) REFERENCES public.debrief(gym_id, debrief_id);

ALTER TABLE ONLY public.debrief
    ADD CONSTRAINT debrief_gym_id_plan_id_fkey FOREIGN KEY (gym_id, plan_id) REFERENCES public.plan(gym_id, plan_id);

ALTER TABLE ONLY public.debrief
    ADD CONSTRAINT debrief_gym_id_session_id_fkey FOREIGN KEY (gym_id, session_id) REFERENCES public.session(gym_id, session_id);

ALTER TABLE ONLY public.device
    ADD CONSTRAINT device_gym_id_athlete_id_fkey FOREIGN KEY (gym_id, athlete_id) REFERENCES public.athlete(gym_id, athlete_id);

ALTER TABLE ONLY public.device
    ADD CONSTRAINT device_gym_id_guardian_id_fkey FOREIGN KEY (gym_id, guardian_id) REFERENCES public.guardian(gym_id, guardian_id);

ALTER TABLE ONLY public.enrolment
    ADD CONSTRAINT enrolment_gym_id_athlete_id_fkey FOREIGN KEY (gym_id, athlete_id) REFERENCES public.athlete(gym_id, athlete_id);

ALTER TABLE ONLY public.enrolment
    ADD CONSTRAINT enrolment_gym_id_class_id_fkey FOREIGN KEY (gym_id, class_id) REFERENCES public.class(gym_id, class_id);

ALTER TABLE ONLY public.erasure
    ADD CONSTRAINT erasure_gym_id_fkey FOREIGN KEY (gym_id) REFERENCES public.gym(gym_id);

ALTER TABLE ONLY public.floor
    ADD CONSTRAINT floor_gym_id_class_id_fkey FOREIGN KEY (gym_id, class_id) REFERENCES public.class(gym_id, class_id);

ALTER TABLE ONLY public.guardian
    ADD CONSTRAINT guardian_gym_id_athlete_id_fkey FOREIGN KEY (gym_id, athlete_id) REFERENCES public.athlete(gym_id, athlete_id);

ALTER TABLE ONLY public.guardian
    ADD CONSTRAINT guardian_person_id_fkey FOREIGN KEY (person_id) REFERENCES public.person(person_id);

ALTER TABLE ONLY public.guardian_told
    ADD CONSTRAINT guardian_told_gym_id_athlete_id_fkey FOREIGN KEY (gym_id, athlete_id) REFERENCES public.athlete(gym_id, athlete_id);

ALTER TABLE ONLY public.guardian_told
    ADD CONSTRAINT guardian_told_gym_id_guardian_id_fkey FOREIGN KEY (gym_id, guardian_id) REFERENCES public.guardian(gym_id, guardian_id);

ALTER TABLE ONLY public.gym_rules
    ADD CONSTRAINT gym_rules_gym_id_fkey FOREIGN KEY (gym_id) REFERENCES public.gym(gym_id);

ALTER TABLE ONLY public.hand
    ADD CONSTRAINT hand_gym_id_athlete_id_fkey FOREIGN KEY (gym_id, athlete_id) REFERENCES public.athlete(gym_id, athlete_id);

ALTER TABLE ONLY public.hand
    ADD CONSTRAINT hand_gym_id_session_id_fkey FOREIGN KEY (gym_id, session_id) REFERENCES public.session(gym_id, session_id);

ALTER TABLE ONLY public.health_answer
    ADD CONSTRAINT health_answer_gym_id_athlete_id_fkey FOREIGN KEY (gym_id, athlete_id) REFERENCES public.athlete(gym_id, athlete_id);

ALTER TABLE ONLY public.health_talk
    ADD CONSTRAINT health_talk_gym_id_athlete_id_fkey FOREIGN KEY (gym_id, athlete_id) REFERENCES public.athlete(gym_id, athlete_id);

ALTER TABLE ONLY public.hold
    ADD CONSTRAINT hold_gym_id_athlete_id_fkey FOREIGN KEY (gym_id, athlete_id) REFERENCES public.athlete(gym_id, athlete_id);

ALTER TABLE ONLY public.hold
    ADD CONSTRAINT hold_gym_id_debrief_id_fkey FOREIGN KEY (gym_id, debrief_id) REFERENCES public.debrief(gym_id, debrief_id);

ALTER TABLE ONLY public.holiday
    ADD CONSTRAINT holiday_gym_id_fkey FOREIGN KEY (gym_id) REFERENCES public.gym(gym_id);

ALTER TABLE ONLY public.incident
    ADD CONSTRAINT incident_gym_id_athlete_id_fkey FOREIGN KEY (gym_id, athlete_id) REFERENCES public.athlete(gym_id, athlete_id);

ALTER TABLE ONLY public.incident
    ADD CONSTRAINT incident_gym_id_class_id_fkey FOREIGN KEY (gym_id, class_id) REFERENCES public.class(gym_id, class_id);

ALTER TABLE ONLY public.incident
    ADD CONSTRAINT incident_gym_id_corrects_fkey FOREIGN KEY (gym_id, corrects) REFERENCES public.incident(gym_id, incident_id);

ALTER TABLE ONLY public.incident
    ADD CONSTRAINT incident_gym_id_session_id_fkey FOREIGN KEY (gym_id, session_id) REFERENCES public.session(gym_id, session_id);

ALTER TABLE ONLY public.invitation_code
    ADD CONSTRAINT invitation_code_gym_id_invitation_id_fkey FOREIGN KEY (gym_id, invitation_id) REFERENCES public.invitation(gym_id, invitation_id);

ALTER TABLE ONLY public.invitation
    ADD CONSTRAINT invitation_gym_id_fkey FOREIGN KEY (gym_id) REFERENCES public.gym(gym_id);

ALTER TABLE ONLY public.judgement
    ADD CONSTRAINT judgement_gym_id_athlete_id_fkey FOREIGN KEY (gym_id, athlete_id) REFERENCES public.athlete(gym_id, athlete_id);

ALTER TABLE ONLY public.judgement
    ADD CONSTRAINT judgement_gym_id_takes_back_fkey FOREIGN KEY (gym_id, takes_back) REFERENCES public.judgement(gym_id, judgement_id);

ALTER TABLE ONLY public.known_browser
    ADD CONSTRAINT known_browser_person_id_fkey FOREIGN KEY (person_id) REFERENCES public.person(person_id);

ALTER TABLE ONLY public.ladder_draft
    ADD CONSTRAINT ladder_draft_gym_id_ladder_id_based_on_fkey FOREIGN KEY (gym_id, ladder_id, based_on) REFERENCES public.ladder_version(gym_id, ladder_id, version);

ALTER TABLE ONLY public.ladder_draft
    ADD CONSTRAINT ladder_draft_gym_id_ladder_id_fkey FOREIGN KEY (gym_id, ladder_id) REFERENCES public.ladder(gym_id, ladder_id);

ALTER TABLE ONLY public.ladder
    ADD CONSTRAINT ladder_gym_id_fkey FOREIGN KEY (gym_id) REFERENCES public.gym(gym_id);

ALTER TABLE ONLY public.ladder_version
    ADD CONSTRAINT ladder_version_gym_id_ladder_id_fkey FOREIGN KEY (gym_id, ladder_id) REFERENCES public.ladder(gym_id, ladder_id);

ALTER TABLE ONLY public.link
    ADD CONSTRAINT link_gym_id_athlete_id_fkey FOREIGN KEY (gym_id, athlete_id) REFERENCES public.athlete(gym_id, athlete_id);

ALTER TABLE ONLY public.link
    ADD CONSTRAINT link_gym_id_class_id_fkey FOREIGN KEY (gym_id, class_id) REFERENCES public.class(gym_id, class_id);

ALTER TABLE ONLY public.link
    ADD CONSTRAINT link_gym_id_session_id_fkey FOREIGN KEY (gym_id, session_id) REFERENCES public.session(gym_id, session_id);

ALTER TABLE ONLY public.link_secret
    ADD CONSTRAINT link_secret_gym_id_link_id_fkey FOREIGN KEY (gym_id, link_id) REFERENCES public.link(gym_id, link_id);

ALTER TABLE ONLY public.meeting_change
    ADD CONSTRAINT meeting_change_gym_id_class_id_fkey FOREIGN KEY (gym_id, class_id) REFERENCES public.class(gym_id, class_id);

ALTER TABLE ONLY public.membership
    ADD CONSTRAINT membership_gym_id_fkey FOREIGN KEY (gym_id) REFERENCES public.gym(gym_id);

ALTER TABLE ONLY public.membership
    ADD CONSTRAINT membership_person_id_fkey FOREIGN KEY (person_id) REFERENCES public.person(person_id);

ALTER TABLE ONLY public.outfit
    ADD CONSTRAINT outfit_gym_id_athlete_id_fkey FOREIGN KEY (gym_id, athlete_id) REFERENCES public.athlete(gym_id, athlete_id);

ALTER TABLE ONLY public.phone_entry
    ADD CONSTRAINT phone_entry_gym_id_device_id_fkey FOREIGN KEY (gym_id, device_id) REFERENCES public.device(gym_id, device_id);

ALTER TABLE ONLY public.phone_entry
    ADD CONSTRAINT phone_entry_gym_id_sent_by_fkey FOREIGN KEY (gym_id, sent_by) REFERENCES public.athlete(gym_id, athlete_id);

ALTER TABLE ONLY public.plan
    ADD CONSTRAINT plan_gym_id_athlete_id_fkey FOREIGN KEY (gym_id, athlete_id) REFERENCES public.athlete(gym_id, athlete_id);

ALTER TABLE ONLY public.plan
    ADD CONSTRAINT plan_gym_id_class_id_fkey FOREIGN KEY (gym_id, class_id) REFERENCES public.class(gym_id, class_id);

ALTER TABLE ONLY public.plan
    ADD CONSTRAINT plan_gym_id_session_id_fkey FOREIGN KEY (gym_id, session_id) REFERENCES public.session(gym_id, session_id);

ALTER TABLE ONLY public.purge
    ADD CONSTRAINT purge_gym_id_fkey FOREIGN KEY (gym_id) REFERENCES public.gym(gym_id);

ALTER TABLE ONLY public.recovery_code
    ADD CONSTRAINT recovery_code_person_id_fkey FOREIGN KEY (person_id) REFERENCES public.person(person_id);

ALTER TABLE ONLY public.report_comment
    ADD CONSTRAINT report_comment_gym_id_athlete_id_fkey FOREIGN KEY (gym_id, athlete_id) REFERENCES public.athlete(gym_id, athlete_id);

ALTER TABLE ONLY public.report_comment
    ADD CONSTRAINT report_comment_gym_id_term_id_fkey FOREIGN KEY (gym_id, term_id) REFERENCES public.term(gym_id, term_id);

ALTER TABLE ONLY public.report
    ADD CONSTRAINT report_gym_id_athlete_id_fkey FOREIGN KEY (gym_id, athlete_id) REFERENCES public.athlete(gym_id, athlete_id);

ALTER TABLE ONLY public.report
    ADD CONSTRAINT report_gym_id_class_id_fkey FOREIGN KEY (gym_id, class_id) REFERENCES public.class(gym_id, class_id);

ALTER TABLE ONLY public.report
    ADD CONSTRAINT report_gym_id_fkey FOREIGN KEY (gym_id) REFERENCES public.gym(gym_id);

ALTER TABLE ONLY public.report
    ADD CONSTRAINT report_gym_id_term_id_fkey FOREIGN KEY (gym_id, term_id) REFERENCES public.term(gym_id, term_id) ON DELETE CASCADE;

ALTER TABLE ONLY public.report_piece
    ADD CONSTRAINT report_piece_gym_id_report_id_fkey FOREIGN KEY (gym_id, report_id) REFERENCES public.report(gym_id, report_id) ON DELETE CASCADE;

ALTER TABLE ONLY public.result
    ADD CONSTRAINT result_gym_id_athlete_id_fkey FOREIGN KEY (gym_id, athlete_id) REFERENCES public.athlete(gym_id, athlete_id);

ALTER TABLE ONLY public.result
    ADD CONSTRAINT result_gym_id_corrects_fkey FOREIGN KEY (gym_id, corrects) REFERENCES public.result(gym_id, result_id);

ALTER TABLE ONLY public.result
    ADD CONSTRAINT result_gym_id_rope_id_fkey FOREIGN KEY (gym_id, rope_id) REFERENCES public.rope(gym_id, rope_id);

ALTER TABLE ONLY public.result
    ADD CONSTRAINT result_gym_id_session_id_fkey FOREIGN KEY (gym_id, session_id) REFERENCES public.session(gym_id, session_id);

ALTER TABLE ONLY public.rope_check
    ADD CONSTRAINT rope_check_gym_id_rope_id_fkey FOREIGN KEY (gym_id, rope_id) REFERENCES public.rope(gym_id, rope_id);

ALTER TABLE ONLY public.rope
    ADD CONSTRAINT rope_gym_id_athlete_id_fkey FOREIGN KEY (gym_id, athlete_id) REFERENCES public.athlete(gym_id, athlete_id);

ALTER TABLE ONLY public.rope
    ADD CONSTRAINT rope_gym_id_fkey FOREIGN KEY (gym_id) REFERENCES public.gym(gym_id);

ALTER TABLE ONLY public.rope_loan
    ADD CONSTRAINT rope_loan_gym_id_athlete_id_fkey FOREIGN KEY (gym_id, athlete_id) REFERENCES public.athlete(gym_id, athlete_id);

ALTER TABLE ONLY public.rope_loan
    ADD CONSTRAINT rope_loan_gym_id_rope_id_fkey FOREIGN KEY (gym_id, rope_id) REFERENCES public.rope(gym_id, rope_id);

ALTER TABLE ONLY public.run_event
    ADD CONSTRAINT run_event_gym_id_session_id_fkey FOREIGN KEY (gym_id, session_id) REFERENCES public.session(gym_id, session_id);

ALTER TABLE ONLY public.second_factor
    ADD CONSTRAINT second_factor_person_id_fkey FOREIGN KEY (person_id) REFERENCES public.person(person_id);

ALTER TABLE ONLY public.session
    ADD CONSTRAINT session_gym_id_class_id_fkey FOREIGN KEY (gym_id, class_id) REFERENCES public.class(gym_id, class_id);

ALTER TABLE ONLY public.session
    ADD CONSTRAINT session_gym_id_fkey FOREIGN KEY (gym_id) REFERENCES public.gym(gym_id);

ALTER TABLE ONLY public.set_log
    ADD CONSTRAINT set_log_gym_id_athlete_id_fkey FOREIGN KEY (gym_id, athlete_id) REFERENCES public.athlete(gym_id, athlete_id);

ALTER TABLE ONLY public.set_log
    ADD CONSTRAINT set_log_gym_id_plan_id_fkey FOREIGN KEY (gym_id, plan_id) REFERENCES public.plan(gym_id, plan_id);

ALTER TABLE ONLY public.stage_decision
    ADD CONSTRAINT stage_decision_gym_id_athlete_id_fkey FOREIGN KEY (gym_id, athlete_id) REFERENCES public.athlete(gym_id, athlete_id);

ALTER TABLE ONLY public.stage_decision
    ADD CONSTRAINT stage_decision_gym_id_ladder_id_version_fkey FOREIGN KEY (gym_id, ladder_id, version) REFERENCES public.ladder_version(gym_id, ladder_id, version);

ALTER TABLE ONLY public.stage_decision
    ADD CONSTRAINT stage_decision_gym_id_takes_back_fkey FOREIGN KEY (gym_id, takes_back) REFERENCES public.stage_decision(gym_id, decision_id);

ALTER TABLE ONLY public.stage
    ADD CONSTRAINT stage_gym_id_ladder_id_version_fkey FOREIGN KEY (gym_id, ladder_id, version) REFERENCES public.ladder_version(gym_id, ladder_id, version);

ALTER TABLE ONLY public.steel_approval
    ADD CONSTRAINT steel_approval_gym_id_athlete_id_fkey FOREIGN KEY (gym_id, athlete_id) REFERENCES public.athlete(gym_id, athlete_id);

ALTER TABLE ONLY public.term
    ADD CONSTRAINT term_gym_id_fkey FOREIGN KEY (gym_id) REFERENCES public.gym(gym_id);

ALTER TABLE ONLY public.way_back
    ADD CONSTRAINT way_back_gym_id_fkey FOREIGN KEY (gym_id) REFERENCES public.gym(gym_id);

ALTER TABLE ONLY public.way_back
    ADD CONSTRAINT way_back_person_id_fkey FOREIGN KEY (person_id) REFERENCES public.person(person_id);

ALTER TABLE public.api_token ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.assignment ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.athlete ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.attendance ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.audit ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.card ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.catch_note ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.class ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.class_rope_kind ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.class_test ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.class_time ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.consent ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.debrief ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.device ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.enrolment ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.erasure ENABLE ROW LEVEL SECURITY;

CREATE POLICY every_gym ON public.gym FOR SELECT TO ropewalk_erasure USING (true);

ALTER TABLE public.floor ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.guardian ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.guardian_told ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.gym ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.gym_rules ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.hand ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.health_answer ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.health_talk ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.hold ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.holiday ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.incident ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.invitation ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.judgement ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.ladder ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.ladder_draft ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.ladder_version ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.link ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.meeting_change ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.membership ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.outfit ENABLE ROW LEVEL SECURITY;

CREATE POLICY own_gym ON public.api_token TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.assignment TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.athlete TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.attendance TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.audit TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.card TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.catch_note TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.class TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.class_rope_kind TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.class_test TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.class_time TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.consent TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.debrief TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.device TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.enrolment TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.erasure TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.floor TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.guardian TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.guardian_told TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.gym TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.gym_rules TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.hand TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.health_answer TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.health_talk TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.hold TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.holiday TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.incident TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.invitation TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.judgement TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.ladder TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.ladder_draft TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.ladder_version TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.link TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.meeting_change TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.membership TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.outfit TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.phone_entry TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.plan TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.purge TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.report TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.report_comment TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.report_piece TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.result TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.rope TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.rope_check TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.rope_loan TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.run_event TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.session TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.set_log TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.stage TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.stage_decision TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.steel_approval TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_gym ON public.term TO ropewalk_erasure, ropewalk_app USING ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid)) WITH CHECK ((gym_id = (NULLIF(current_setting('ropewalk.gym'::text, true), ''::text))::uuid));

CREATE POLICY own_person ON public.membership FOR SELECT TO ropewalk_app USING ((person_id = (NULLIF(current_setting('ropewalk.person'::text, true), ''::text))::uuid));

ALTER TABLE public.phone_entry ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.plan ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.purge ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.report ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.report_comment ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.report_piece ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.result ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.rope ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.rope_check ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.rope_loan ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.run_event ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.session ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.set_log ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.stage ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.stage_decision ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.steel_approval ENABLE ROW LEVEL SECURITY;

ALTER TABLE public.term ENABLE ROW LEVEL SECURITY;

GRANT USAGE ON SCHEMA public TO ropewalk_app;
GRANT USAGE ON SCHEMA public TO ropewalk_backup;
GRANT USAGE ON SCHEMA public TO ropewalk_erasure;

GRANT USAGE ON SCHEMA river TO ropewalk_app;
GRANT USAGE ON SCHEMA river TO ropewalk_backup;

REVOKE ALL ON FUNCTION public.guard(guarded regclass) FROM PUBLIC;

GRANT SELECT,INSERT ON TABLE public.api_token TO ropewalk_app;
GRANT SELECT ON TABLE public.api_token TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.api_token TO ropewalk_erasure;

GRANT UPDATE(last_used_on) ON TABLE public.api_token TO ropewalk_app;

GRANT UPDATE(ended_at) ON TABLE public.api_token TO ropewalk_app;

GRANT SELECT,INSERT ON TABLE public.assignment TO ropewalk_app;
GRANT SELECT ON TABLE public.assignment TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.assignment TO ropewalk_erasure;

GRANT SELECT,INSERT ON TABLE public.athlete TO ropewalk_app;
GRANT SELECT ON TABLE public.athlete TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.athlete TO ropewalk_erasure;

GRANT UPDATE(name) ON TABLE public.athlete TO ropewalk_app;

GRANT UPDATE(name_key) ON TABLE public.athlete TO ropewalk_app;

GRANT UPDATE(sort_name) ON TABLE public.athlete TO ropewalk_app;

GRANT UPDATE(lang) ON TABLE public.athlete TO ropewalk_app;

GRANT UPDATE(birth_year) ON TABLE public.athlete TO ropewalk_app;

GRANT UPDATE(pin_hash) ON TABLE public.athlete TO ropewalk_app;

GRANT UPDATE(started_on) ON TABLE public.athlete TO ropewalk_app;

GRANT UPDATE(archived_at) ON TABLE public.athlete TO ropewalk_app;

GRANT SELECT,INSERT ON TABLE public.attendance TO ropewalk_app;
GRANT SELECT ON TABLE public.attendance TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.attendance TO ropewalk_erasure;

GRANT UPDATE(here) ON TABLE public.attendance TO ropewalk_app;

GRANT UPDATE(noted_at) ON TABLE public.attendance TO ropewalk_app;

GRANT UPDATE(noted_by) ON TABLE public.attendance TO ropewalk_app;

GRANT SELECT,INSERT ON TABLE public.audit TO ropewalk_app;
GRANT SELECT ON TABLE public.audit TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.audit TO ropewalk_erasure;

GRANT SELECT,INSERT ON TABLE public.backup TO ropewalk_app;
GRANT SELECT ON TABLE public.backup TO ropewalk_backup;

GRANT SELECT,INSERT ON TABLE public.card TO ropewalk_app;
GRANT SELECT ON TABLE public.card TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.card TO ropewalk_erasure;

GRANT UPDATE(used_at) ON TABLE public.card TO ropewalk_app;

GRANT UPDATE(device_id) ON TABLE public.card TO ropewalk_app;

GRANT UPDATE(voided_at) ON TABLE public.card TO ropewalk_app;

GRANT SELECT,INSERT,DELETE ON TABLE public.card_secret TO ropewalk_app;
GRANT SELECT ON TABLE public.card_secret TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.card_secret TO ropewalk_erasure;

GRANT SELECT,INSERT ON TABLE public.catch_note TO ropewalk_app;
GRANT SELECT ON TABLE public.catch_note TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.catch_note TO ropewalk_erasure;

GRANT SELECT,INSERT ON TABLE public.class TO ropewalk_app;
GRANT SELECT ON TABLE public.class TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.class TO ropewalk_erasure;

GRANT UPDATE(name) ON TABLE public.class TO ropewalk_app;

GRANT UPDATE(name_key) ON TABLE public.class TO ropewalk_app;

GRANT UPDATE(code) ON TABLE public.class TO ropewalk_app;

GRANT UPDATE(archived_at) ON TABLE public.class TO ropewalk_app;

GRANT SELECT,INSERT,DELETE ON TABLE public.class_code TO ropewalk_app;
GRANT SELECT ON TABLE public.class_code TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.class_code TO ropewalk_erasure;

GRANT SELECT,INSERT,DELETE ON TABLE public.class_rope_kind TO ropewalk_app;
GRANT SELECT ON TABLE public.class_rope_kind TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.class_rope_kind TO ropewalk_erasure;

GRANT SELECT,INSERT ON TABLE public.class_test TO ropewalk_app;
GRANT SELECT ON TABLE public.class_test TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.class_test TO ropewalk_erasure;

GRANT SELECT,INSERT,DELETE ON TABLE public.class_time TO ropewalk_app;
GRANT SELECT ON TABLE public.class_time TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.class_time TO ropewalk_erasure;

GRANT SELECT,INSERT ON TABLE public.consent TO ropewalk_app;
GRANT SELECT ON TABLE public.consent TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.consent TO ropewalk_erasure;

GRANT SELECT,INSERT ON TABLE public.debrief TO ropewalk_app;
GRANT SELECT ON TABLE public.debrief TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.debrief TO ropewalk_erasure;

GRANT SELECT,INSERT ON TABLE public.device TO ropewalk_app;
GRANT SELECT ON TABLE public.device TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.device TO ropewalk_erasure;

GRANT UPDATE(last_seen_at) ON TABLE public.device TO ropewalk_app;

GRANT UPDATE(cut_off_at) ON TABLE public.device TO ropewalk_app;

GRANT UPDATE(cut_off_by) ON TABLE public.device TO ropewalk_app;

GRANT SELECT,INSERT ON TABLE public.enrolment TO ropewalk_app;
GRANT SELECT ON TABLE public.enrolment TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.enrolment TO ropewalk_erasure;

GRANT UPDATE(place) ON TABLE public.enrolment TO ropewalk_app;

GRANT UPDATE(since) ON TABLE public.enrolment TO ropewalk_app;

GRANT UPDATE(until) ON TABLE public.enrolment TO ropewalk_app;

GRANT SELECT,INSERT ON TABLE public.erasure TO ropewalk_app;
GRANT SELECT,DELETE,UPDATE ON TABLE public.erasure TO ropewalk_erasure;
GRANT SELECT ON TABLE public.erasure TO ropewalk_backup;

GRANT UPDATE(undone_at) ON TABLE public.erasure TO ropewalk_app;

GRANT UPDATE(undone_by) ON TABLE public.erasure TO ropewalk_app;

GRANT UPDATE(done_at) ON TABLE public.erasure TO ropewalk_app;

GRANT UPDATE(report) ON TABLE public.erasure TO ropewalk_app;

GRANT SELECT,INSERT,DELETE ON TABLE public.first_code TO ropewalk_app;
GRANT SELECT,DELETE,UPDATE ON TABLE public.first_code TO ropewalk_erasure;
GRANT SELECT ON TABLE public.first_code TO ropewalk_backup;

GRANT UPDATE(used_at) ON TABLE public.first_code TO ropewalk_app;

GRANT SELECT,INSERT ON TABLE public.floor TO ropewalk_app;
GRANT SELECT ON TABLE public.floor TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.floor TO ropewalk_erasure;

GRANT UPDATE(length_m) ON TABLE public.floor TO ropewalk_app;

GRANT UPDATE(width_m) ON TABLE public.floor TO ropewalk_app;

GRANT UPDATE(spacing_m) ON TABLE public.floor TO ropewalk_app;

GRANT UPDATE(surface) ON TABLE public.floor TO ropewalk_app;

GRANT UPDATE(note) ON TABLE public.floor TO ropewalk_app;

GRANT UPDATE(noted_at) ON TABLE public.floor TO ropewalk_app;

GRANT UPDATE(noted_by) ON TABLE public.floor TO ropewalk_app;

GRANT SELECT,INSERT ON TABLE public.guardian TO ropewalk_app;
GRANT SELECT ON TABLE public.guardian TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.guardian TO ropewalk_erasure;

GRANT UPDATE(removed_at) ON TABLE public.guardian TO ropewalk_app;

GRANT UPDATE(person_id) ON TABLE public.guardian TO ropewalk_app;

GRANT SELECT,INSERT ON TABLE public.guardian_told TO ropewalk_app;
GRANT SELECT,DELETE,UPDATE ON TABLE public.guardian_told TO ropewalk_erasure;
GRANT SELECT ON TABLE public.guardian_told TO ropewalk_backup;

GRANT SELECT,INSERT ON TABLE public.gym TO ropewalk_app;
GRANT SELECT ON TABLE public.gym TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.gym TO ropewalk_erasure;

GRANT UPDATE(name) ON TABLE public.gym TO ropewalk_app;

GRANT UPDATE(time_zone) ON TABLE public.gym TO ropewalk_app;

GRANT UPDATE(adult_age) ON TABLE public.gym TO ropewalk_app;

GRANT UPDATE(consent_age) ON TABLE public.gym TO ropewalk_app;

GRANT UPDATE(second_factor_postponed) ON TABLE public.gym TO ropewalk_app;

GRANT UPDATE(keep_athlete_months) ON TABLE public.gym TO ropewalk_app;

GRANT UPDATE(keep_health_months) ON TABLE public.gym TO ropewalk_app;

GRANT UPDATE(keep_incident_months) ON TABLE public.gym TO ropewalk_app;

GRANT UPDATE(keep_audit_months) ON TABLE public.gym TO ropewalk_app;

GRANT SELECT,INSERT ON TABLE public.gym_rules TO ropewalk_app;
GRANT SELECT ON TABLE public.gym_rules TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.gym_rules TO ropewalk_erasure;

GRANT SELECT,INSERT ON TABLE public.hand TO ropewalk_app;
GRANT SELECT ON TABLE public.hand TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.hand TO ropewalk_erasure;

GRANT SELECT,INSERT ON TABLE public.health_answer TO ropewalk_app;
GRANT SELECT,DELETE,UPDATE ON TABLE public.health_answer TO ropewalk_erasure;
GRANT SELECT ON TABLE public.health_answer TO ropewalk_backup;

GRANT SELECT,INSERT ON TABLE public.health_talk TO ropewalk_app;
GRANT SELECT,DELETE,UPDATE ON TABLE public.health_talk TO ropewalk_erasure;
GRANT SELECT ON TABLE public.health_talk TO ropewalk_backup;

GRANT SELECT,INSERT ON TABLE public.hold TO ropewalk_app;
GRANT SELECT ON TABLE public.hold TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.hold TO ropewalk_erasure;

GRANT SELECT,INSERT,DELETE ON TABLE public.holiday TO ropewalk_app;
GRANT SELECT ON TABLE public.holiday TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.holiday TO ropewalk_erasure;

GRANT UPDATE(name) ON TABLE public.holiday TO ropewalk_app;

GRANT UPDATE(starts_on) ON TABLE public.holiday TO ropewalk_app;

GRANT UPDATE(ends_on) ON TABLE public.holiday TO ropewalk_app;

GRANT SELECT,INSERT ON TABLE public.incident TO ropewalk_app;
GRANT SELECT ON TABLE public.incident TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.incident TO ropewalk_erasure;

GRANT SELECT,INSERT ON TABLE public.invitation TO ropewalk_app;
GRANT SELECT,DELETE,UPDATE ON TABLE public.invitation TO ropewalk_erasure;
GRANT SELECT ON TABLE public.invitation TO ropewalk_backup;

GRANT UPDATE(used_at) ON TABLE public.invitation TO ropewalk_app;

GRANT UPDATE(used_by) ON TABLE public.invitation TO ropewalk_app;

GRANT UPDATE(taken_back_at) ON TABLE public.invitation TO ropewalk_app;

GRANT SELECT,INSERT,DELETE ON TABLE public.invitation_code TO ropewalk_app;
GRANT SELECT,DELETE,UPDATE ON TABLE public.invitation_code TO ropewalk_erasure;
GRANT SELECT ON TABLE public.invitation_code TO ropewalk_backup;

GRANT SELECT,INSERT ON TABLE public.judgement TO ropewalk_app;
GRANT SELECT ON TABLE public.judgement TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.judgement TO ropewalk_erasure;

GRANT SELECT,INSERT,DELETE ON TABLE public.known_browser TO ropewalk_app;
GRANT SELECT,DELETE,UPDATE ON TABLE public.known_browser TO ropewalk_erasure;
GRANT SELECT ON TABLE public.known_browser TO ropewalk_backup;

GRANT SELECT,INSERT ON TABLE public.ladder TO ropewalk_app;
GRANT SELECT ON TABLE public.ladder TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.ladder TO ropewalk_erasure;

GRANT UPDATE(name) ON TABLE public.ladder TO ropewalk_app;

GRANT UPDATE(in_use) ON TABLE public.ladder TO ropewalk_app;

GRANT UPDATE(lang) ON TABLE public.ladder TO ropewalk_app;

GRANT SELECT,INSERT,DELETE ON TABLE public.ladder_draft TO ropewalk_app;
GRANT SELECT ON TABLE public.ladder_draft TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.ladder_draft TO ropewalk_erasure;

GRANT UPDATE(based_on) ON TABLE public.ladder_draft TO ropewalk_app;

GRANT UPDATE(revision) ON TABLE public.ladder_draft TO ropewalk_app;

GRANT UPDATE(body) ON TABLE public.ladder_draft TO ropewalk_app;

GRANT UPDATE(changed_at) ON TABLE public.ladder_draft TO ropewalk_app;

GRANT UPDATE(changed_by) ON TABLE public.ladder_draft TO ropewalk_app;

GRANT SELECT,INSERT ON TABLE public.ladder_version TO ropewalk_app;
GRANT SELECT ON TABLE public.ladder_version TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.ladder_version TO ropewalk_erasure;

GRANT SELECT,INSERT ON TABLE public.link TO ropewalk_app;
GRANT SELECT ON TABLE public.link TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.link TO ropewalk_erasure;

GRANT UPDATE(ended_at) ON TABLE public.link TO ropewalk_app;

GRANT SELECT,INSERT,DELETE ON TABLE public.link_secret TO ropewalk_app;
GRANT SELECT ON TABLE public.link_secret TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.link_secret TO ropewalk_erasure;

GRANT SELECT,INSERT ON TABLE public.meeting_change TO ropewalk_app;
GRANT SELECT ON TABLE public.meeting_change TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.meeting_change TO ropewalk_erasure;

GRANT SELECT,INSERT ON TABLE public.membership TO ropewalk_app;
GRANT SELECT ON TABLE public.membership TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.membership TO ropewalk_erasure;

GRANT UPDATE(until) ON TABLE public.membership TO ropewalk_app;

GRANT SELECT,INSERT ON TABLE public.outfit TO ropewalk_app;
GRANT SELECT ON TABLE public.outfit TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.outfit TO ropewalk_erasure;

GRANT UPDATE(height_cm) ON TABLE public.outfit TO ropewalk_app;

GRANT UPDATE(shoes) ON TABLE public.outfit TO ropewalk_app;

GRANT UPDATE(noted_at) ON TABLE public.outfit TO ropewalk_app;

GRANT UPDATE(noted_by) ON TABLE public.outfit TO ropewalk_app;

GRANT SELECT,INSERT ON TABLE public.person TO ropewalk_app;
GRANT SELECT ON TABLE public.person TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.person TO ropewalk_erasure;

GRANT UPDATE(name) ON TABLE public.person TO ropewalk_app;

GRANT UPDATE(lang) ON TABLE public.person TO ropewalk_app;

GRANT UPDATE(password_hash) ON TABLE public.person TO ropewalk_app;

GRANT SELECT,INSERT ON TABLE public.phone_entry TO ropewalk_app;
GRANT SELECT ON TABLE public.phone_entry TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.phone_entry TO ropewalk_erasure;

GRANT SELECT,INSERT ON TABLE public.plan TO ropewalk_app;
GRANT SELECT ON TABLE public.plan TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.plan TO ropewalk_erasure;

GRANT UPDATE(sent_at) ON TABLE public.plan TO ropewalk_app;

GRANT SELECT,INSERT ON TABLE public.purge TO ropewalk_app;
GRANT SELECT,DELETE,UPDATE ON TABLE public.purge TO ropewalk_erasure;
GRANT SELECT ON TABLE public.purge TO ropewalk_backup;

GRANT SELECT,INSERT,DELETE ON TABLE public.recovery_code TO ropewalk_app;
GRANT SELECT ON TABLE public.recovery_code TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.recovery_code TO ropewalk_erasure;

GRANT UPDATE(used_at) ON TABLE public.recovery_code TO ropewalk_app;

GRANT SELECT,INSERT ON TABLE public.report TO ropewalk_app;
GRANT SELECT ON TABLE public.report TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.report TO ropewalk_erasure;

GRANT UPDATE(as_of) ON TABLE public.report TO ropewalk_app;

GRANT UPDATE(state) ON TABLE public.report TO ropewalk_app;

GRANT UPDATE(done) ON TABLE public.report TO ropewalk_app;

GRANT UPDATE(of) ON TABLE public.report TO ropewalk_app;

GRANT UPDATE(attempt) ON TABLE public.report TO ropewalk_app;

GRANT UPDATE(file_name) ON TABLE public.report TO ropewalk_app;

GRANT UPDATE(bytes) ON TABLE public.report TO ropewalk_app;

GRANT UPDATE(sha256) ON TABLE public.report TO ropewalk_app;

GRANT UPDATE(finished_at) ON TABLE public.report TO ropewalk_app;

GRANT UPDATE(removed_at) ON TABLE public.report TO ropewalk_app;

GRANT SELECT,INSERT ON TABLE public.report_comment TO ropewalk_app;
GRANT SELECT ON TABLE public.report_comment TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.report_comment TO ropewalk_erasure;

GRANT UPDATE(draft) ON TABLE public.report_comment TO ropewalk_app;

GRANT UPDATE(draft_aim) ON TABLE public.report_comment TO ropewalk_app;

GRANT UPDATE(comment) ON TABLE public.report_comment TO ropewalk_app;

GRANT UPDATE(aim) ON TABLE public.report_comment TO ropewalk_app;

GRANT UPDATE(revision) ON TABLE public.report_comment TO ropewalk_app;

GRANT UPDATE(changed_at) ON TABLE public.report_comment TO ropewalk_app;

GRANT UPDATE(changed_by) ON TABLE public.report_comment TO ropewalk_app;

GRANT UPDATE(shown_at) ON TABLE public.report_comment TO ropewalk_app;

GRANT SELECT,INSERT,DELETE ON TABLE public.report_piece TO ropewalk_app;
GRANT SELECT ON TABLE public.report_piece TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.report_piece TO ropewalk_erasure;

GRANT SELECT,INSERT ON TABLE public.result TO ropewalk_app;
GRANT SELECT ON TABLE public.result TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.result TO ropewalk_erasure;

GRANT SELECT,INSERT ON TABLE public.rope TO ropewalk_app;
GRANT SELECT ON TABLE public.rope TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.rope TO ropewalk_erasure;

GRANT UPDATE(label) ON TABLE public.rope TO ropewalk_app;

GRANT UPDATE(kind) ON TABLE public.rope TO ropewalk_app;

GRANT UPDATE(length_m) ON TABLE public.rope TO ropewalk_app;

GRANT UPDATE(handle) ON TABLE public.rope TO ropewalk_app;

GRANT UPDATE(note) ON TABLE public.rope TO ropewalk_app;

GRANT UPDATE(athlete_id) ON TABLE public.rope TO ropewalk_app;

GRANT UPDATE(retired_at) ON TABLE public.rope TO ropewalk_app;

GRANT SELECT,INSERT ON TABLE public.rope_check TO ropewalk_app;
GRANT SELECT ON TABLE public.rope_check TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.rope_check TO ropewalk_erasure;

GRANT SELECT,INSERT ON TABLE public.rope_loan TO ropewalk_app;
GRANT SELECT ON TABLE public.rope_loan TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.rope_loan TO ropewalk_erasure;

GRANT SELECT,INSERT ON TABLE public.run_event TO ropewalk_app;
GRANT SELECT ON TABLE public.run_event TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.run_event TO ropewalk_erasure;

GRANT SELECT ON TABLE public.schema_migrations TO ropewalk_app;
GRANT SELECT ON TABLE public.schema_migrations TO ropewalk_backup;

GRANT SELECT,INSERT,DELETE ON TABLE public.second_factor TO ropewalk_app;
GRANT SELECT ON TABLE public.second_factor TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.second_factor TO ropewalk_erasure;

GRANT UPDATE(secret) ON TABLE public.second_factor TO ropewalk_app;

GRANT UPDATE(made_at) ON TABLE public.second_factor TO ropewalk_app;

GRANT UPDATE(confirmed_at) ON TABLE public.second_factor TO ropewalk_app;

GRANT UPDATE(last_step) ON TABLE public.second_factor TO ropewalk_app;

GRANT SELECT,INSERT ON TABLE public.session TO ropewalk_app;
GRANT SELECT ON TABLE public.session TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.session TO ropewalk_erasure;

GRANT UPDATE(note) ON TABLE public.session TO ropewalk_app;

GRANT UPDATE(opened_at) ON TABLE public.session TO ropewalk_app;

GRANT UPDATE(closed_at) ON TABLE public.session TO ropewalk_app;

GRANT SELECT,INSERT ON TABLE public.set_log TO ropewalk_app;
GRANT SELECT ON TABLE public.set_log TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.set_log TO ropewalk_erasure;

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE public.sign_in TO ropewalk_app;
GRANT SELECT,DELETE,UPDATE ON TABLE public.sign_in TO ropewalk_erasure;
GRANT SELECT ON TABLE public.sign_in TO ropewalk_backup;

GRANT SELECT,INSERT ON TABLE public.stage TO ropewalk_app;
GRANT SELECT ON TABLE public.stage TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.stage TO ropewalk_erasure;

GRANT SELECT,INSERT ON TABLE public.stage_decision TO ropewalk_app;
GRANT SELECT ON TABLE public.stage_decision TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.stage_decision TO ropewalk_erasure;

GRANT SELECT,INSERT ON TABLE public.steel_approval TO ropewalk_app;
GRANT SELECT ON TABLE public.steel_approval TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.steel_approval TO ropewalk_erasure;

GRANT SELECT,INSERT,DELETE ON TABLE public.term TO ropewalk_app;
GRANT SELECT ON TABLE public.term TO ropewalk_backup;
GRANT SELECT,DELETE,UPDATE ON TABLE public.term TO ropewalk_erasure;

GRANT UPDATE(name) ON TABLE public.term TO ropewalk_app;

GRANT UPDATE(starts_on) ON TABLE public.term TO ropewalk_app;

GRANT UPDATE(ends_on) ON TABLE public.term TO ropewalk_app;

GRANT SELECT,INSERT,DELETE ON TABLE public.way_back TO ropewalk_app;
GRANT SELECT,DELETE,UPDATE ON TABLE public.way_back TO ropewalk_erasure;
GRANT SELECT ON TABLE public.way_back TO ropewalk_backup;

GRANT UPDATE(used_at) ON TABLE public.way_back TO ropewalk_app;

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE public.wrong_try TO ropewalk_app;
GRANT SELECT,DELETE,UPDATE ON TABLE public.wrong_try TO ropewalk_erasure;
GRANT SELECT ON TABLE public.wrong_try TO ropewalk_backup;

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE river.river_job TO ropewalk_app;
GRANT SELECT ON TABLE river.river_job TO ropewalk_backup;

GRANT SELECT,USAGE ON SEQUENCE river.river_job_id_seq TO ropewalk_app;
GRANT SELECT ON SEQUENCE river.river_job_id_seq TO ropewalk_backup;

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE river.river_leader TO ropewalk_app;
GRANT SELECT ON TABLE river.river_leader TO ropewalk_backup;

GRANT SELECT ON TABLE river.river_migration TO ropewalk_app;
GRANT SELECT ON TABLE river.river_migration TO ropewalk_backup;

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE river.river_notification TO ropewalk_app;
GRANT SELECT ON TABLE river.river_notification TO ropewalk_backup;

GRANT SELECT,USAGE ON SEQUENCE river.river_notification_id_seq TO ropewalk_app;
GRANT SELECT ON SEQUENCE river.river_notification_id_seq TO ropewalk_backup;

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE river.river_queue TO ropewalk_app;
GRANT SELECT ON TABLE river.river_queue TO ropewalk_backup;
