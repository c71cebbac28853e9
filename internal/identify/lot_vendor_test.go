package identify

import (
	"math"
	"testing"
)

// untested is the share of strangers expected of a lot of a trade before any test.
func untested(t Trade) float64 {
	w := t.filled().weights()
	return w.untested()
}

// What is expected of an untested lot is one number, wherever it is read: all
// three states of the prior count.
func TestTrade_UntestedIsWhatTheLotModelExpects(t *testing.T) {
	usual := Trade{}
	byHand := 0.88*0.05 + 0.07*0.5 + 0.05*(0.95+0.05/2) // the means of the three states
	if got := untested(usual); math.Abs(got-byHand) > 0.0005 {
		t.Errorf("an untested lot expects %.4f strangers a piece, by hand %.4f", got, byHand)
	}
	for _, trade := range []Trade{usual, NewVendor, usual.With(Record{Strangers: 4, Plain: 20})} {
		v, faults := JudgeLot(Lot{Claim: corundumClaim(), Pieces: 40}, LotSettings{Trade: trade})
		if faults.Blocks() {
			t.Fatal(faults)
		}
		if want := 40 * untested(trade); math.Abs(v.Expected-want) > 1e-9 {
			t.Errorf("%+v: the lot model expects %.6f of 40, the trade %.6f", trade, v.Expected, want)
		}
	}
}

// A vendor's record moves what is expected of his next lot: more strangers more,
// more plain stones less, and never with more weight than 30 stones.
func TestTrade_WithRecord(t *testing.T) {
	usual := Trade{}.filled()
	if got := (Trade{}).With(Record{}); got != usual {
		t.Errorf("no record: %+v", got)
	}
	for plain := 0; plain <= 100; plain += 5 {
		for strangers := 0; strangers <= 100; strangers += 5 {
			r := Record{Strangers: strangers, Plain: plain}
			with := Trade{}.With(r)
			b := with.Strangers
			if sum := b.A + b.B; sum > 30+1e-9 || r.Tested() <= 20 && math.Abs(sum-10-float64(r.Tested())) > 1e-9 {
				t.Errorf("%+v weighs %.2f stones", r, sum)
			}
			if with.Claim != usual.Claim || with.Mixture != usual.Mixture || with.Other != usual.Other {
				t.Errorf("%+v moves the states: %+v", r, with)
			}
			one := untested(Trade{}.With(Record{Strangers: strangers + 1, Plain: plain}))
			if one <= untested(with) {
				t.Errorf("%+v and one stranger more expect %.4f, without %.4f", r, one, untested(with))
			}
			if one = untested(Trade{}.With(Record{Strangers: strangers, Plain: plain + 1})); one >= untested(with) {
				t.Errorf("%+v and one plain stone more expect %.4f, without %.4f", r, one, untested(with))
			}
		}
	}
	// No vendor is believed without a test: the best record leaves the states.
	if best := untested(Trade{}.With(Record{Plain: 10000})); best < 0.05 {
		t.Errorf("the best record expects %.4f strangers", best)
	}
}

// Only stones drawn at random count, or a lot of which none was left out; a stone
// that decides nothing counts as neither.
func TestRecordOf(t *testing.T) {
	open := Observations{Optic: OpticDoubly, Colour: "blue"}
	for _, c := range []struct {
		name   string
		stones []TestedStone
		all    bool
		want   Record
	}{
		{"plain", tested(sapphire, Random, 3), false, Record{Plain: 3}},
		{"one stranger", append(tested(sapphire, Random, 3), tested(spinel, Random, 1)...), false, Record{1, 3}},
		{"picked", tested(spinel, Picked, 2), false, Record{}},
		{"picked, none left out", tested(spinel, Picked, 2), true, Record{Strangers: 2}},
		{"nothing decided", tested(open, Random, 2), false, Record{}},
	} {
		if got := RecordOf(corundumClaim(), c.stones, c.all); got != c.want {
			t.Errorf("%s: %+v, want %+v", c.name, got, c.want)
		}
	}
}

// The law of a lot: what a vendor's other lots showed moves the next one's
// expected strangers, its bound and how many stones verify it.
func TestLot_VendorRecord(t *testing.T) {
	judged := func(r Record) LotVerdict {
		v, faults := JudgeLot(Lot{Claim: corundumClaim(), Pieces: 40, Tested: tested(sapphire, Random, 4)},
			LotSettings{Vendor: r})
		if faults.Blocks() {
			t.Fatal(faults)
		}
		return v
	}
	good, none, bad := judged(Record{Plain: 20}), judged(Record{}), judged(Record{Strangers: 8, Plain: 12})
	if !(good.Expected < none.Expected && none.Expected < bad.Expected) ||
		!(good.UpperCount <= none.UpperCount && none.UpperCount < bad.UpperCount) ||
		!(good.More <= none.More && none.More < bad.More) {
		t.Errorf("good %.2f, %d, %d; none %.2f, %d, %d; bad %.2f, %d, %d", good.Expected, good.UpperCount, good.More,
			none.Expected, none.UpperCount, none.More, bad.Expected, bad.UpperCount, bad.More)
	}
}
