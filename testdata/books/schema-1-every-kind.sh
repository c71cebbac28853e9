#!/usr/bin/env bash
# Makes schema-1-every-kind.db.gz: a book of schema 1 with every kind of record,
# every kind of place, papers half done, and a reversal of every kind of movement,
# as the commands of that version wrote it. Later versions cannot run this script
# again: it stays to say what is in the book, and the book is never made anew.
#
#   PATH=the-folder-of-that-lotpaper:$PATH testdata/books/schema-1-every-kind.sh
set -euo pipefail
root=$(cd "$(dirname "$0")/../.." && pwd)
samples=$root/samples
work=$(mktemp -d "$root/internal/frozen-XXXXXX") # inside the module, for the record that no command writes
trap 'rm -rf "$work"' EXIT
cd "$work"
export LOTPAPER_WHO=Ada LOTPAPER_BOOK=$work/book.db NO_COLOR=1
dealer='Tide and Quill, gemstones' vendor='Harrow Sound Traders' lender='Pellam and Daughter'
cutter='Osric Vane' setter='Ines Roake' customer='Galerie Sandbar' lab='Northmere Gem Laboratory'

on=2026-03-02
lp() { lotpaper "$@" --date "$on" >out.txt; }
entry() { lotpaper ledger show | awk -F'\t' '$4 != "" { e = $1 } END { print e }'; } # the newest one that moved something
undo() { lp ledger reverse "$(entry)" --reason "$1"; }           # take it back

# The book, rates, prices, settings, a line.
lp init --currency EUR --zone Europe/Lisbon --name "$dealer"
lp config set tax=20
lp config set tax=21
lp rates import "$samples/rates.csv"
lp prices import "$samples/prices.csv"
lp line import --designs "$samples/designs.csv" --positions "$samples/positions.csv" --line Sea

# Parcels: a wrong import and the right one, goods on memo in, one only on offer.
cat >list.csv <<'LIST'
lot,species,variety,treatment,shape,pieces,weight,length_mm,width_mm,depth_mm,calibrated,price,price_basis
F1,beryl,aquamarine,heating,round,10,8.10,6.0,6.0,3.8,yes,48,per_carat
LIST
sed "s|^lot,|owner,lot,|; s|^F1,|memo-in/$lender,L1,|" list.csv >lent.csv
lp parcel import list.csv --vendor "$vendor" --currency USD
undo 'only on offer'
lp parcel import "$samples/parcel.csv" --stones "$samples/stones.csv" --vendor "$vendor" --currency USD
lp parcel import lent.csv --vendor "$lender" --currency USD --due 2026-04-15
undo 'not arrived'
lp parcel import "$samples/memo.csv" --vendor "$lender" --currency USD --due 2026-04-15
lp parcel import list.csv --vendor "$vendor" --currency USD --offer
lp offer ask P5 --total 400 --currency USD
lp offer bid P5 --per-carat 40 --party "$dealer"
lp charge add P2 --kind freight --amount 64.00 --currency USD --rate 0.918
lp charge add P2 --kind duty --amount 57.80 --tax 954.90 --by value
undo 'the duty of another parcel'

# Readings and a laboratory's report.
on=2026-03-04
lp reading import "$samples/readings.csv"
lp reading add A9 --stone 1 --drawn random --test ri-spot --low 1.54
lp report add A12.2 --lab "$lab" --number N-26-00417 --on 2026-03-03 --weight 0.557 \
    --species spinel --nature natural --treatment none --origin 'Tal Orsin'
lp charge add --lot A12.2 --kind laboratory --amount 55

# Sorted, split, merged, adjusted; each once for nothing.
on=2026-03-05
lp lot sort A4 --by value --part fine:6:5.00:120 --part second:6:4.79:60
undo 'sorted in bad light'
lp lot sort A4 --by value --part fine:5:4.10:120 --part second:7:5.68:60
lp lot split A3 --pieces 1 --carats 1.090 --stone S1
undo 'the wrong stone'
lp lot split A3 --pieces 1 --carats 1.120 --stone S1
lp lot merge A4.3 A4.4 --label apatite
undo 'kept apart'
lp lot adjust A10 --pieces -1 --carats -0.200 --to loss/breakage --reason 'broke in the tweezers'
undo 'another lot'
lp lot adjust A10 --pieces -1 --carats -0.200 --to loss/count --reason 'not in the paper'
undo 'under the tray'
lp lot adjust A10 --carats 0.010 --to loss/weighing --reason 'new balance'
undo 'the old balance again'
lp lot adjust A10 --pieces -1 --carats -0.200 --to loss/count --abnormal --reason 'gone'
lp lot adjust A11 --pieces -1 --carats -0.250 --to loss/breakage --reason 'dropped'
lp lot adjust A14 --carats 0.010 --to loss/weighing --reason 'new balance'

# Two memos of one customer, half returned; one of them sold from in part.
on=2026-03-06
lp memo out A3:4:4.400 A2:2:1.350 --to "$customer" --due 2026-05-31
undo 'they took others'
lp memo out A3:4:4.400 A2:2:1.350 --to "$customer" --due 2026-05-31
lp memo out A3:2:2.200 A6:4:14.110 --to "$customer" --due 2026-06-30
lp memo back M2 A3:2:2.200
undo 'counted wrongly'
lp memo back M2 A3:2:2.200
lp memo sell M2 A2:1:0.675 --price 45
undo 'not sold'
lp memo sell M2 A2:1:0.675 --price 48
lp memo back M3 A6:2:7.050

# An order out, one come back in more pieces than went, one only drafted.
on=2026-03-09
lp order draft --cutter "$cutter" --item 'kyanite:oval:7x5:6' --due 2026-05-15 --note 'two of each, please'
lp order send O1 A7:4:5.640
undo 'not these'
lp order send O1 A7:3:4.230
lp order receive O1 A7 --pieces 5 --carats 2.400 --shape oval --length 7 --width 5
undo 'weighed with the paper'
lp order receive O1 A7 --pieces 5 --carats 2.350 --shape oval --length 7 --width 5 --last
lp order draft --cutter "$cutter" --item 'fluorite:cushion:8x8:2' --due 2026-05-20
lp order send O2 A6:2:7.060
lp order draft --cutter "$cutter" --item 'zircon:round:4:3'

# At the setter: some set, one broken, one back unset, some still there.
on=2026-03-10
lp setter out A16:6:4.120 A8:2:1.597 --to "$setter"
undo 'not today'
lp setter out A16:6:4.120 A8:2:1.597 --to "$setter"
lp setter back A16 --from "$setter" --set 2 --piece R1 --for 'Sea/Shore ring/center'
undo 'still at the bench'
lp setter back A16 --from "$setter" --set 2 --piece R1 --for 'Sea/Shore ring/center'
lp setter back A16:1:0.687 --from "$setter" --broken 1
undo 'only chipped'
lp setter back A16:1:0.687 --from "$setter" --broken 1

# Sales, a return, and a purchase of goods on memo in.
on=2026-03-11
lp sale add A15:2:3.490 --to "$customer" --price 420 --currency USD --rate 0.918
undo 'paid by nobody'
lp sale add A15:2:3.490 --to "$customer" --price 420 --currency USD --rate 0.918
lp sale add A13:1:0.450 --to "$customer" --price 60
lp sale return S4
undo 'kept after all'
lp sale return S4 --damaged
lp sale add A16 --from piece/R1 --to "$customer" --price 240
undo 'still in the window'
lp memo buy M1:1:1.600
undo 'the lender keeps it'
lp memo buy M1:1:1.600
lp charge add P2 --kind freight --amount 20 # part of it belongs to what is gone: charge/variance

# A plan with holds, the line proposed, the cutter's paper of a draft.
on=2026-03-12
lp line plan Sea --hold --work 300
lp line propose Sea --customer "$customer" --runs 200 --work 300
lp order draft Sea --cutter "$cutter" --due 2026-05-15 --work 300
lp order send O4

# No command of this version writes a party.
mkdir party
cat >party/main.go <<'GO'
package main

import (
	"context"
	"os"

	"lotpaper/internal/book"
	"lotpaper/internal/ledger"
	"lotpaper/internal/store"
	"lotpaper/internal/store/sqlite"
)

func main() {
	ctx := context.Background()
	s, err := sqlite.Open(ctx, os.Getenv("LOTPAPER_BOOK"), sqlite.Options{})
	if err != nil {
		panic(err)
	}
	e := ledger.Entry{Kind: ledger.Record, PostedOn: "2026-03-12", Reason: "a party", Who: "Ada",
		Records: []book.Record{book.Party{Name: "Northmere Gem Laboratory", Role: "laboratory", Note: "no report under a carat"}}}
	if err := s.Update(ctx, func(tx store.Tx) error { return tx.Post(ctx, &e) }); err != nil {
		panic(err)
	}
	if err := s.Close(); err != nil {
		panic(err)
	}
}
GO
go run ./party

lotpaper ledger check
lotpaper backup packed.db
gzip -9 -n <packed.db >"$root/testdata/books/schema-1-every-kind.db.gz"
ls -l "$root/testdata/books"
