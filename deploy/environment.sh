# Sourced by start, test, prove and bench: a Python of its own for this checkout, built from a lock.
# Plain POSIX sh. The caller stands in the checkout.

fail() {
    printf '%s\n' "$*" >&2
    exit 1
}

# quietly LOG COMMAND...: runs it, and shows what it said only when it fails.
quietly() {
    quiet_log=$1
    shift
    "$@" >"$quiet_log" 2>&1 && return 0
    cat "$quiet_log" >&2
    return 1
}

# Sets $python to the first interpreter from 3.11 on that can make an environment.
find_python() {
    python='' lacking=''
    for candidate in python3 python3.11 python3.12 python3.13 python3.14; do
        command -v "$candidate" >/dev/null 2>&1 || continue
        "$candidate" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null || continue
        if "$candidate" -c 'import venv, ensurepip' 2>/dev/null; then
            python=$candidate
            return 0
        fi
        lacking=${lacking:-$("$candidate" -c 'import sys; print("%d.%d" % sys.version_info[:2])')}
    done
    sudo=''
    [ "$(id -u)" = 0 ] || sudo='sudo '
    if command -v apt-get >/dev/null 2>&1; then
        remedy="${sudo}apt update && ${sudo}apt install python${lacking:-3}-venv"
    elif command -v dnf >/dev/null 2>&1; then
        remedy="${sudo}dnf install python${lacking:-3.11}"
    elif command -v apk >/dev/null 2>&1; then
        remedy="${sudo}apk add python3"
    elif command -v zypper >/dev/null 2>&1; then
        remedy="${sudo}zypper install python311"
    elif command -v pacman >/dev/null 2>&1; then
        remedy="${sudo}pacman -S python"
    else
        remedy='install Python 3.11 or newer with its venv module'
    fi
    if [ -n "$lacking" ]; then
        fail "Python $lacking is here, its venv module is not. This brings it:

    $remedy"
    fi
    fail "Python 3.11 or newer is needed. This brings it:

    $remedy"
}

# make_environment FOLDER LOCK: built once, and again when the lock or the interpreter has changed.
# The stamp is written last, so that an interrupted build is begun again.
make_environment() {
    stamp="$(cksum <"$2")"
    if [ "$(cat "$1/lock.stamp" 2>/dev/null)" = "$stamp" ] && "$1/bin/python" -c '' 2>/dev/null; then
        return 0
    fi
    find_python
    echo "Preparing $1 (the first time takes a minute or two) ..."
    rm -rf "$1"
    "$python" -m venv "$1" || fail "$python could not make an environment in $1."
    echo '*' >"$1/.gitignore"
    quietly "$1/install.log" "$1/bin/python" -m pip --disable-pip-version-check --no-input \
        install --require-hashes -r "$2" ||
        fail "The packages in $2 could not be installed; the lines above say why. Nothing else was changed."
    printf '%s\n' "$stamp" >"$1/lock.stamp"
}

# compile_catalogues PYTHON LOG: translations, when a source is newer than what was made of it.
compile_catalogues() {
    for source in coordinator/locale/*/LC_MESSAGES/django.po; do
        [ -f "$source" ] || continue
        [ -n "$(find "$source" -newer "${source%.po}.mo" 2>/dev/null)" ] || [ ! -f "${source%.po}.mo" ] || continue
        quietly "$2" "$1" -m babel.messages.frontend compile -d coordinator/locale -D django ||
            fail "The translations could not be compiled."
        return 0
    done
}
