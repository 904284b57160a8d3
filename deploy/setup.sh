# Sourced by deploy/demo and deploy/test: makes .venv beside the project and installs into it. Needs Python 3.11 or newer.
# $1: what to install, e.g. "." or ".[all]"; further arguments: more for the installer.

stop() { echo "sitebot: $*" >&2; exit 1; }

find_python() {
    for name in ${SITEBOT_PYTHON:-} python3.13 python3.12 python3.11 python3 python; do
        if command -v "$name" >/dev/null 2>&1 &&
            "$name" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
            echo "$name"
            return
        fi
    done
    return 1
}

set_up() {
    python=$(find_python) || stop "needs Python 3.11 or newer; install it (for example: apt install python3) and try again."
    wanted=$(cat pyproject.toml deploy/constraints.txt deploy/setup.sh | "$python" -c \
        'import hashlib, sys; print(hashlib.sha256(sys.stdin.buffer.read()).hexdigest())')
    stamp=".venv/.installed-$(echo "$*" | tr -c 'a-zA-Z0-9\n' '_')"
    [ -f "$stamp" ] && [ "$(cat "$stamp")" = "$wanted" ] && return 0
    echo "sitebot: installing (once, about a minute) ..." >&2
    if command -v uv >/dev/null 2>&1; then
        [ -x .venv/bin/python ] || uv venv --quiet --python "$python" .venv || stop "uv could not make .venv."
        VIRTUAL_ENV=.venv uv pip install --quiet --constraint deploy/constraints.txt "$@" || stop "the installation failed; see above."
    else
        if [ ! -x .venv/bin/pip ]; then
            rm -rf .venv
            "$python" -m venv .venv >/dev/null 2>&1 ||
                stop "Python's venv is missing; install it (for example: apt install python3-venv) and try again."
        fi
        # Older ones do not know dependency groups.
        .venv/bin/python -m pip install --quiet --disable-pip-version-check --upgrade 'pip>=25.1' || stop "pip could not be renewed."
        .venv/bin/python -m pip install --quiet --disable-pip-version-check --constraint deploy/constraints.txt "$@" ||
            stop "the installation failed; see above."
    fi
    echo "$wanted" >"$stamp"
}
