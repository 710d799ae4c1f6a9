#!/bin/sh
# Makes the role and the database. The role is no superuser: row security keeps shops
# apart only for one it binds, and proveout refuses any other.
set -eu
psql -v ON_ERROR_STOP=1 --username postgres --set password="$(cat "$POSTGRES_PASSWORD_FILE")" <<'SQL'
CREATE ROLE proveout LOGIN PASSWORD :'password';
CREATE DATABASE proveout OWNER proveout;
SQL
