package app

import (
	"context"
	"fmt"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/durability"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// lossRecord is what the book's own entries say: by kind and level, stones set
// and broken, sold and returned damaged.
type lossRecord map[durability.LossKind]map[durability.Level]durability.Record

func (l lossRecord) add(kind durability.LossKind, level int, n, lost int64) {
	if l[kind] == nil {
		l[kind] = map[durability.Level]durability.Record{}
	}
	r := l[kind][durability.Level(level)]
	r.N += int(n)
	r.Lost += int(lost)
	l[kind][durability.Level(level)] = r
}

// lossesOf reads the book's own record: what setters set and broke at each
// level of the day, and which finished pieces were sold and came back damaged.
func lossesOf(ctx context.Context, tx store.ReadTx) (lossRecord, error) {
	out := lossRecord{}
	inPiece := map[string][]book.Work{}
	err := store.Each(ctx, tx, store.RowFilter{Limit: pageLots}, func(w book.Work) error {
		if w.Reversed {
			return nil
		}
		out.add(durability.LossSetting, w.BreakLevel, w.Set+w.Broken, w.Broken)
		if w.Piece != "" {
			key := strings.ToLower(w.Piece + "/" + w.Lot)
			inPiece[key] = append(inPiece[key], w)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return out, store.Each(ctx, tx, store.RowFilter{Limit: pageLots}, func(s book.Sale) error {
		if s.From.Kind() != book.AtPiece || s.Reversed {
			return nil
		}
		for _, l := range s.Lots {
			left := l.Pieces // a lot may be set in several positions of one piece: each stone counts once
			for _, w := range inPiece[strings.ToLower(s.From.Name()+"/"+l.Lot)] {
				n := min(w.Set, left)
				left -= n
				lost := int64(0)
				if s.Damaged {
					lost = n
				}
				out.add(durability.LossReturn, w.ReturnLevel, n, lost)
			}
		}
		return nil
	})
}

// lossSettings are the book's settings for what is believed of losses, one for
// each kind and level: RATE or RATE:STONES, a rate in percent that is believed
// as much as if that many stones had been watched.
func lossSettings() []setting {
	var out []setting
	for i, prior := range durability.Priors() {
		words := fmt.Sprintf("percent of stones judged %s that break while being set", prior.Level)
		if prior.Kind == durability.LossReturn {
			words = fmt.Sprintf("percent of stones judged %s that come back damaged in the first year", prior.Level)
		}
		key := fmt.Sprintf("loss_%s_%s", prior.Kind, prior.Level)
		fallback := fmt.Sprintf("%g:%g", prior.Mean*100, prior.Stones)
		out = append(out, setting{key, fallback, words + ", and how many stones that estimate is worth (RATE:STONES)", func(c *Config, v string) *fault.Fault {
			p := prior
			if v != fallback {
				p.Source = "book setting " + key
				if f := readLoss(&p, v); f != nil {
					return f
				}
			}
			if len(c.Losses) != len(durability.Priors()) {
				c.Losses = durability.Priors()
			}
			c.Losses[i] = p
			return nil
		}})
	}
	return out
}

// readEstimate reads "4" or "4:50": a rate in percent, and how many stones it
// is worth, else so many. The rate comes as a share.
func readEstimate(v string, worth float64) (rate, stones float64, f *fault.Fault) {
	percent, n, weighed := strings.Cut(v, ":")
	p, f := num.ParsePercent(strings.TrimSpace(percent))
	if f != nil || !weighed {
		return p.Float() / 100, worth, f
	}
	d, f := num.ParseDec(strings.TrimSpace(n))
	return p.Float() / 100, d.Float(), f
}

// readLoss reads a setting into a prior.
func readLoss(p *durability.Prior, v string) *fault.Fault {
	var f *fault.Fault
	if p.Mean, p.Stones, f = readEstimate(v, p.Stones); f != nil {
		return f
	}
	if p.Stones > 1e6 {
		return fault.New(fault.Invalid, "loss-weight", fmt.Sprintf("an estimate is worth at most 1000000 stones, but is worth %g", p.Stones), "give the number of stones that the estimate is worth, e.g. 50")
	}
	return p.Check()
}

// LossRate is one chance of loss as the book believes it now.
type LossRate struct {
	durability.Rate
	Stones int `json:"stones"` // of the book's own record
	Lost   int `json:"lost"`
}

// LossRates returns the believed chances of loss, by kind and level: which
// part is an estimate and which a record.
func (a *App) LossRates(ctx context.Context) ([]LossRate, error) {
	out := []LossRate{}
	err := a.view(ctx, func(tx store.ReadTx) error {
		record, err := lossesOf(ctx, tx)
		if err != nil {
			return err
		}
		config, err := loadConfig(ctx, tx)
		if err != nil {
			return err
		}
		for _, p := range config.Losses {
			own := record[p.Kind][p.Level]
			r, f := durability.RateOf(config.Losses, p.Kind, p.Level, own)
			if f != nil {
				return f
			}
			out = append(out, LossRate{r, own.N, own.Lost})
		}
		return nil
	})
	return out, err
}

// workOf judges what a setter did: the levels of the lot in the position that
// it was set into. Without a position nothing is learnt.
func (a *App) workOf(ctx context.Context, tx store.Tx, s stamp, r SetterBack) (book.Record, error) {
	if r.For == "" || r.Set+r.Broken == 0 {
		return nil, nil
	}
	parts := strings.SplitN(r.For, "/", 3)
	if len(parts) != 3 {
		return nil, fault.New(fault.Usage, "for-form", "a position is named LINE/DESIGN/POSITION, but is \""+r.For+"\"", "see: lotpaper line show").AtFlag("for")
	}
	d, err := store.Get[book.Design](ctx, tx, parts[0]+"/"+parts[1])
	if err != nil {
		return nil, notFound(err, "design", parts[0]+"/"+parts[1], "see: lotpaper line show "+parts[0])
	}
	pos, ok := positionOf(d, parts[2])
	if !ok {
		return nil, fault.New(fault.NotFound, "position-unknown", "the design "+d.Name+" has no position "+parts[2], "see: lotpaper line show "+parts[0]).AtFlag("for")
	}
	lot, err := stockOf(ctx, tx, r.Lot)
	if err != nil {
		return nil, err
	}
	id, err := a.identityIn(ctx, tx, lot)
	if err != nil {
		return nil, err
	}
	config, err := loadConfig(ctx, tx)
	if err != nil {
		return nil, err
	}
	j := newJudge(map[string]*LotIdentity{lot.Code: &id}, config, nil).at(lot.Lot, d, pos)
	if j.err != nil {
		return nil, j.err
	}
	n, err := tx.Next(ctx, string(book.KindWork))
	if err != nil {
		return nil, err
	}
	v := j.all.Verdict()
	return book.Work{
		Number: fmt.Sprintf("W%d", n), Setter: r.Setter, Lot: lot.Code, Piece: r.Piece, For: d.RecordKey() + "/" + pos.Name, Set: r.Set, Broken: r.Broken,
		BreakLevel: int(v.BreakLevel), ReturnLevel: int(v.ReturnLevel), On: s.on,
	}, nil
}
