-- Makes the database and its logins, on the primary, once:
--   psql -f roles.sql -v owner="'…'" -v app="'…'" -v replica="'…'"
-- each with a password of its own. Ropewalk makes everything else.
CREATE ROLE ropewalk_owner LOGIN CREATEROLE PASSWORD :owner;
CREATE ROLE ropewalk_app LOGIN NOINHERIT NOSUPERUSER NOBYPASSRLS PASSWORD :app;
CREATE ROLE ropewalk_backup NOSUPERUSER BYPASSRLS;
CREATE ROLE ropewalk_erasure NOLOGIN NOSUPERUSER NOBYPASSRLS;
CREATE ROLE ropewalk_replica LOGIN REPLICATION PASSWORD :replica;
GRANT ropewalk_app, ropewalk_backup, ropewalk_erasure TO ropewalk_owner WITH ADMIN OPTION;
GRANT ropewalk_erasure TO ropewalk_app;
CREATE DATABASE ropewalk OWNER ropewalk_owner TEMPLATE template0 ENCODING 'UTF8';
