#!/usr/bin/env bash
# The monthly review from nothing: a lab folder, what was understood of its logs, the
# review, and a look into its JSON with plain tools. Works in a folder of its own.
#
#   bash notebooks-free-examples/monthly-review.sh
#
# STEADYFOG names the program; without it, cargo builds and runs it.
set -euo pipefail
cd "$(dirname "$0")/.."
read -r -a steadyfog <<<"${STEADYFOG:-cargo run --release --quiet --}"
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

echo "# 1. A lab folder to work on (yours would hold your own logs)"
"${steadyfog[@]}" demo "$work/lab"

echo
echo "# 2. What was understood of the logs, and what was not"
"${steadyfog[@]}" intake "$work/lab"

echo
echo "# 3. The review of June"
"${steadyfog[@]}" review "$work/lab" --month 2026-06 --out "$work/review" --now 2026-07-01T08:00:00Z

echo
echo "# 4. The findings, out of the JSON"
findings=$(grep -o '"sentence": *"[^"]*"' "$work/review/review.json" | sed 's/^"sentence": *//')
[ -n "$findings" ] || { echo "no finding in review.json" >&2; exit 1; }
echo "$findings"
grep -q Plover <<<"$findings" || { echo "Plover's nozzle was not found" >&2; exit 1; }

echo
echo "# 5. For a scheduled job: exit status 1 tells that something signals"
status=0
"${steadyfog[@]}" review "$work/lab" --month 2026-06 --out "$work/again" --only json --quiet \
    --now 2026-07-01T08:00:00Z --fail-on signal || status=$?
echo "exit status $status"
[ "$status" -eq 1 ]
