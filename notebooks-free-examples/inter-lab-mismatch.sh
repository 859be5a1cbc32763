#!/usr/bin/env bash
# Two labs run the same standard and get different corrosion on the same steel: do their
# cabinets differ, in what, and how much of the difference goes with it? Works in a
# folder of its own.
#
#   bash notebooks-free-examples/inter-lab-mismatch.sh
#
# STEADYFOG names the program; without it, cargo builds and runs it.
set -euo pipefail
cd "$(dirname "$0")/.."
read -r -a steadyfog <<<"${STEADYFOG:-cargo run --release --quiet --}"
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

echo "# 1. Two lab folders: check logs, coupon rounds (coupons.csv), instruments (lab.toml)"
ls data/demo-lab data/demo-partner-lab

echo
echo "# 2. What was understood of the partner's logs: other language, units and weekdays"
"${steadyfog[@]}" intake data/demo-partner-lab

echo
echo "# 3. The comparison over the days that both labs cover"
# The first lab named is the one that the differences are told from. --now is the clock:
# same input and same clock give the same bytes.
"${steadyfog[@]}" compare data/demo-lab data/demo-partner-lab --out "$work/compare" --now 2026-07-01T08:00:00Z
for wanted in compare.json compare.html; do
    [ -s "$work/compare/$wanted" ] || { echo "$wanted was not written" >&2; exit 1; }
done

echo
echo "# 4. The measured difference that goes with most of the corrosion, out of the JSON"
# "mismatch" holds a row for each pair and characteristic; rank 1 goes with most of the
# pair's coupon difference. It is association, not cause: it says where to look first.
rows=$(tr -d '\n' <"$work/compare/compare.json" | sed 's/.*"mismatch": *\[//; s/\], *"explanations".*//')
first=$(grep -o '{[^}]*"rank": *1,[^}]*}' <<<"$rows" | sed -n 1p)
[ -n "$first" ] || { echo "no first-ranked mismatch in compare.json" >&2; exit 1; }
field() { grep -o "\"$1\": *\"[^\"]*\"" <<<"$first" | sed 's/^[^:]*: *"//; s/"$//'; }
echo "$(field a) against $(field b), $(field characteristic): $(field says)"
[ "$(field characteristic)" = collection-rate ] || { echo "the lower catch was not ranked first" >&2; exit 1; }

echo
echo "# 5. What needs a person, most urgent first"
grep -o '"sentence": *"[^"]*"' "$work/compare/compare.json" | sed 's/^"sentence": *//'
