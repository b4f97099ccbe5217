BEGIN;
DROP TABLE audit, hold, debrief, set_log, plan, stage_decision, stage, ladder_version, ladder;
COMMIT;
