# Sourced by test, prove and bench: PostgreSQL and Redis of our own, in a temporary folder, on free
# loopback ports. The servers of the system, if there are any, are neither used nor touched.
# Wants: environment.sh sourced before, the checkout as the current folder.

# Where PostgreSQL's own programs lie: the newest of those that Debian keeps out of the path, or the path's.
postgres_folder() {
    newest=$(ls -d /usr/lib/postgresql/*/bin 2>/dev/null | sort -t/ -k5 -n | tail -n 1)
    [ -n "$newest" ] || newest=$(dirname "$(command -v initdb 2>/dev/null || echo none/initdb)")
    echo "$newest"
}

lacking() {
    [ -x "$(postgres_folder)/initdb" ] || echo postgresql
    command -v redis-server >/dev/null 2>&1 || echo redis-server
    command -v chromium >/dev/null 2>&1 || echo chromium
    command -v msgfmt >/dev/null 2>&1 || echo gettext
    [ -n "$(find /usr/share/fonts -name 'NotoSansArabic*' 2>/dev/null | head -n 1)" ] || echo fonts-noto-core
    command -v git >/dev/null 2>&1 || echo git
    [ -n "${TEST_PYTHON:-}" ] || python3 -c 'import venv, ensurepip' 2>/dev/null || echo python3-venv
}

# What the tests need from the system: installed as root where apt is, named elsewhere.
need_packages() {
    packages=$(lacking | tr '\n' ' ')
    [ -n "$packages" ] || return 0
    if [ "$(id -u)" != 0 ] || ! command -v apt-get >/dev/null 2>&1; then
        echo "Needed for this: $packages" >&2
        echo "On Debian or Ubuntu: sudo apt-get install $packages" >&2
        exit 2
    fi
    echo "Installing: $packages"
    # While these are installed, no server starts and no cluster of the system is made.
    no_cluster='' no_start=''
    if [ ! -e /etc/postgresql-common/createcluster.d/none-for-tests.conf ]; then
        no_cluster=/etc/postgresql-common/createcluster.d/none-for-tests.conf
        mkdir -p "${no_cluster%/*}"
        echo 'create_main_cluster = false' >"$no_cluster"
    fi
    if [ ! -e /usr/sbin/policy-rc.d ]; then
        no_start=/usr/sbin/policy-rc.d
        printf '#!/bin/sh\nexit 101\n' >"$no_start"
        chmod 755 "$no_start"
    fi
    installed=yes
    # Unquoted on purpose: one word a package. The first try fails where no package list was fetched yet.
    DEBIAN_FRONTEND=noninteractive apt-get install -y --no-install-recommends $packages >"$room/apt.log" 2>&1 ||
        { apt-get update >"$room/apt.log" 2>&1 &&
            DEBIAN_FRONTEND=noninteractive apt-get install -y --no-install-recommends $packages \
                >>"$room/apt.log" 2>&1; } || installed=no
    rm -f $no_cluster $no_start
    [ $installed = yes ] || { cat "$room/apt.log" >&2; fail "Those packages could not be installed."; }
}

# Makes $room, the temporary folder, and sees to it that everything started here ends with the script.
open_room() {
    room=$(mktemp -d "${TMPDIR:-/tmp}/drums.XXXXXX")
    chmod 711 "$room"
    trap 'code=$?; trap "" INT TERM HUP PIPE; close_room; exit $code' EXIT
    trap 'exit 130' INT
    trap 'exit 143' TERM HUP
    trap 'exit 141' PIPE # nobody reads on: sh deploy/test | head
}

# end_by_pid FILE SIGNAL: ends the process whose number FILE begins with, and waits until it is gone.
end_by_pid() {
    [ -s "$1" ] || return 0
    pid=$(head -n 1 "$1")
    kill -s "$2" "$pid" 2>/dev/null || return 0
    tries=0
    while kill -0 "$pid" 2>/dev/null && [ $tries -lt 100 ]; do
        sleep 0.1
        tries=$((tries + 1))
    done
}

close_room() {
    end_by_pid "$room/postgres/postmaster.pid" QUIT # at once: this data is thrown away
    end_by_pid "$room/redis.pid" TERM
    rm -rf "$room"
}

as_postgres() {
    if [ "$(id -u)" = 0 ]; then runuser -u postgres -- "$@"; else "$@"; fi
}

# start_servers PYTHON: the two servers, the roles, and the addresses in the environment.
start_servers() {
    postgres=$(postgres_folder)
    set -- $("$1" -c 'import socket
two = [socket.create_server(("127.0.0.1", 0)) for _ in range(2)]
print(*(each.getsockname()[1] for each in two))')
    postgres_port=$1 redis_port=$2

    mkdir "$room/postgres" "$room/data"
    [ "$(id -u)" != 0 ] || chown postgres "$room/postgres"
    quietly "$room/initdb.log" as_postgres "$postgres/initdb" -D "$room/postgres" -U super --auth=trust \
        --no-sync --encoding=UTF8 --locale=C.UTF-8 || fail 'PostgreSQL could not be prepared.'
    # No autovacuum: analyzing a table while a test rebuilds its walls, it now and then ended in a deadlock.
    quietly "$room/pg_ctl.log" as_postgres "$postgres/pg_ctl" -D "$room/postgres" -w -t 60 \
        -l "$room/postgres/server.log" start \
        -o "-h 127.0.0.1 -p $postgres_port -k '' -c fsync=off -c synchronous_commit=off \
            -c full_page_writes=off -c autovacuum=off -c max_connections=200 -c log_min_messages=fatal" ||
        { cat "$room/postgres/server.log" >&2; fail 'PostgreSQL did not start.'; }
    "$postgres/psql" -qX -v ON_ERROR_STOP=1 -h 127.0.0.1 -p "$postgres_port" -U super -d postgres <<'SQL' ||
CREATE ROLE owner LOGIN CREATEDB NOSUPERUSER NOBYPASSRLS;
CREATE ROLE app LOGIN NOSUPERUSER NOBYPASSRLS;
GRANT app TO owner; -- so that tests may SET ROLE app
CREATE DATABASE drums OWNER owner;
SQL
        fail 'The roles could not be made.'

    redis-server --port "$redis_port" --bind 127.0.0.1 --dir "$room" --pidfile "$room/redis.pid" \
        --daemonize yes --save '' --appendonly no --logfile "$room/redis.log" >/dev/null ||
        fail 'Redis did not start.'
    tries=0
    until [ "$(redis-cli -p "$redis_port" ping 2>/dev/null)" = PONG ]; do
        tries=$((tries + 1))
        [ $tries -lt 100 ] || { cat "$room/redis.log" >&2; fail 'Redis did not answer.'; }
        sleep 0.1
    done

    at=127.0.0.1:$postgres_port
    export TEST_DATABASE_URL="postgresql://owner@$at/drums"
    export TEST_APP_DATABASE_URL="postgresql://app@$at/drums"
    export TEST_SUPER_DATABASE_URL="postgresql://super@$at/drums"
    export TEST_REDIS_URL="redis://127.0.0.1:$redis_port/0"
    # Nothing of the caller's own installation may be reached by a test.
    unset PUBLIC_URL OWNER_DATABASE_URL DATABASE_ROLE REDIS_URL SMTP_URL PORT DEBUG ALLOW_PLAIN_HTTP
    export DATABASE_URL="$TEST_DATABASE_URL"
    export DATA_DIR="$room/data"
    SECRET_KEY=$(od -An -N32 -tx1 /dev/urandom | tr -d ' \n')
    export SECRET_KEY
}

# prepare_tests: the room, the packages, the Python ($run) and the servers, for test, prove and bench alike.
prepare_tests() {
    open_room
    need_packages
    if [ -n "${TEST_PYTHON:-}" ]; then
        run=$TEST_PYTHON
    else
        make_environment .venv-test deploy/test.lock
        run=$PWD/.venv-test/bin/python
    fi
    start_servers "$run"
    compile_catalogues "$run" "$room/catalogues.log"
}
