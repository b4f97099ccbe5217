#!/bin/sh
# Makes this machine's PostgreSQL a streaming replica, as the user postgres, with
# the server stopped and its data folder empty:
#   PRIMARY=10.0.0.11 NAME=copy1 DATA=/var/lib/postgresql/17/main ./replica.sh
# The password of ropewalk_replica is asked for, or read from ~/.pgpass.
set -eu
pg_basebackup --host="$PRIMARY" --port="${PORT:-5432}" --username=ropewalk_replica --pgdata="$DATA" \
  --write-recovery-conf --create-slot --slot="$NAME" --checkpoint=fast --progress \
  --dbname="application_name=$NAME"
