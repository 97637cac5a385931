#!/bin/sh
# Counts instructions an edit, by class, under callgrind, and compares them with instructions.toml: fails where one is more
# than 10 % over its bound. Counts do not depend on what else the machine does, so continuous integration can gate on them.
#
#   instructions.sh            compare
#   instructions.sh --write    write what was counted as the new bounds
set -eu

here=$(cd "$(dirname "$0")" && pwd)
bounds="$here/instructions.toml"
edits=200
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

if ! command -v valgrind >/dev/null; then
    echo "valgrind is not installed: nothing was counted" >&2
    exit 2
fi

cd "$here/.."
# The newest executable of the bench, as cargo tells it.
bench=$(cargo bench --bench keystroke --no-run --message-format=json 2>"$work/build" |
    sed -n 's/.*"name":"keystroke".*"executable":"\([^"]*\)".*/\1/p' | tail -n 1)
if [ -z "$bench" ]; then
    cat "$work/build" >&2
    exit 2
fi

# Instructions of the edits themselves: collecting is on in counted_edit only.
count() {
    RAYON_NUM_THREADS=1 valgrind --tool=callgrind --collect-atstart=no --toggle-collect='*counted_edit*' \
        --callgrind-out-file="$work/out" "$bench" s "$edits" 1 --count "$1" >"$work/said" 2>&1 || {
        cat "$work/said" >&2
        exit 2
    }
    total=$(sed -n 's/^\(summary\|totals\): \([0-9]*\).*/\2/p' "$work/out" | tail -n 1)
    if [ "${total:-0}" -eq 0 ]; then
        echo "nothing was counted for $1: is counted_edit still there?" >&2
        exit 2
    fi
    echo $((total / edits))
}

over=0
printf '| edit | instructions | bound | of it |\n| --- | ---: | ---: | ---: |\n'
for class in value name reference table syntax; do
    counted=$(count "$class")
    echo "$class = $counted" >>"$work/new"
    bound=$(sed -n "s/^$class *= *\([0-9]*\).*/\1/p" "$bounds" 2>/dev/null || true)
    if [ -z "$bound" ]; then
        printf '| %s | %s | none | |\n' "$class" "$counted"
        [ "${1:-}" = --write ] || over=1
        continue
    fi
    printf '| %s | %s | %s | %s %% |\n' "$class" "$counted" "$bound" $((counted * 100 / bound))
    [ "$counted" -le $((bound + bound / 10)) ] || over=1
done

if [ "${1:-}" = --write ]; then
    {
        echo "# Instructions an edit at size S, by class: instructions.sh fails where one is more than 10 % over."
        echo "# Written by \`instructions.sh --write\`. Lower a bound when the code gets faster; raise one with a reason."
        cat "$work/new"
    } >"$bounds"
    exit 0
fi
[ "$over" -eq 0 ] || {
    echo "over the bound by more than 10 %, or without one" >&2
    exit 1
}
