#!/bin/sh
# A throw-away PostgreSQL server for tests, on a socket of its own: no port, no settings, no trace afterwards.
#
#   cluster.sh keep DIRECTORY    serve from DIRECTORY until nobody holds a lock on DIRECTORY/users any more
#   cluster.sh around COMMAND    serve while COMMAND runs, which finds the socket's directory in OSTLER_TEST_POSTGRES
#
# OSTLER_POSTGRES_PROGRAMS may name the directory of initdb and postgres.
set -eu

find_programs() {
    programs=${OSTLER_POSTGRES_PROGRAMS:-}
    [ -n "$programs" ] || programs=$(ls -d /usr/lib/postgresql/*/bin /usr/pgsql-*/bin 2>/dev/null | sort -V | tail -n 1)
    [ -n "$programs" ] || programs=$(dirname "$(command -v initdb || echo /nowhere/initdb)")
    for program in initdb postgres createdb dropdb psql; do
        [ -x "$programs/$program" ] || {
            echo "PostgreSQL's program $program is not in $programs: install PostgreSQL, or name its directory of programs in OSTLER_POSTGRES_PROGRAMS" >&2
            exit 1
        }
    done
}

# The server refuses to run as root: then it runs as a user who owns nothing else.
drop_privileges() {
    as_server=
    [ "$(id -u)" = 0 ] || return 0
    user=$(id -un postgres 2>/dev/null || echo nobody)
    as_server="setpriv --reuid=$user --regid=$(id -g "$user") --clear-groups"
    chown "$user" "$directory/server"
}

# Starts the server as a child. Nothing in it outlives the tests, so nothing needs to reach the disk.
start_server() {
    find_programs
    chmod 755 "$directory"
    rm -rf "$directory/server"
    mkdir "$directory/server"
    drop_privileges
    cd "$directory/server"
    echo "$programs" > programs
    $as_server "$programs/initdb" --no-sync --auth=trust --username=postgres --encoding=UTF8 --locale=C -D data
    $as_server "$programs/postgres" -D data -k "$directory/server" -c listen_addresses= -c fsync=off \
        -c synchronous_commit=off -c full_page_writes=off -c wal_level=minimal -c max_wal_senders=0 \
        -c max_connections=300 -c shared_buffers=64MB -c jit=off &
}

server_id() {
    head -n 1 "$directory/server/data/postmaster.pid" 2>/dev/null
}

# No time is lost on an orderly end: the files go as well. The directory leaves its place whole: a newcomer must find
# all of it or nothing.
stop_server() {
    if server=$(server_id); then
        kill -QUIT "$server" 2>/dev/null || true
        while kill -0 "$server" 2>/dev/null && [ -e "/proc/$server/exe" ]; do sleep 0.02; done
    fi
    mv "$directory" "$directory.ended.$$"
    rm -rf "$directory.ended.$$"
}

# Users hold a shared lock while they live. When the last has gone, wait a little for the next test; then, with the
# door shut to newcomers, look again.
keep() {
    directory=$1
    echo $$ > "$directory/watcher"
    [ -n "$(server_id)" ] || start_server
    exec 9< "$directory/users"
    while :; do
        flock --exclusive 9
        flock --unlock 9
        sleep 3
        exec 8< "$directory/door"
        flock --exclusive 8
        # Another watcher took over, or the directory is another's by now.
        [ "$(cat "$directory/watcher" 2>/dev/null)" = $$ ] || exit 0
        if flock --exclusive --nonblock 9; then
            stop_server
            exit 0
        fi
        exec 8<&-
    done
}

finish() {
    status=$?
    [ -n "$ready" ] || cat "$directory/log" >&2
    stop_server
    exit $status
}

around() {
    directory=$(mktemp -d /tmp/ostler-pg.XXXXXX)
    ready=
    trap finish EXIT
    trap 'exit 130' INT TERM HUP
    start_server > "$directory/log" 2>&1
    cd "$OLDPWD"
    tries=0
    while [ -z "$ready" ]; do
        tries=$((tries + 1))
        [ $tries -lt 3000 ] || exit 1
        sleep 0.02
        ready=$(sed -n 8p "$directory/server/data/postmaster.pid" 2>/dev/null | grep ready) || true
    done
    OSTLER_TEST_POSTGRES=$directory/server "$@"
}

mode=$1
shift
"$mode" "$@"
