package config

import (
	"fmt"
	"strings"

	"lotpaper/internal/cutting"
	"lotpaper/internal/durability"
	"lotpaper/internal/fault"
	"lotpaper/internal/num"
)

// cutterBreakage reads the estimate that stands for every cutter: empty, RATE
// or RATE:STONES.
func cutterBreakage(c *Config, v string) *fault.Fault {
	c.CutterBreakage = cutting.Prior{}
	if v == "" {
		return nil
	}
	rate, stones, f := readEstimate(v, cutting.OrderTrials)
	if f != nil || rate <= 0 || rate >= 1 || stones <= 0 {
		return fault.New(fault.Invalid, "config-value", "the estimate must be a rate between 0 and 100 % and "+
			"its weight in stones, but is \""+v+"\"", "write it like 3:20, or leave it empty")
	}
	c.CutterBreakage = cutting.Prior{Rate: rate, Stones: stones}
	return nil
}

// lossSettings are the book's settings for what is believed of losses, one for
// each kind and level: RATE or RATE:STONES, a rate in percent and its weight, as
// if that many stones had been watched.
func lossSettings() []Setting {
	var out []Setting
	for i, prior := range durability.Priors() {
		words := fmt.Sprintf("percent of stones judged %s that break while being set", prior.Level)
		if prior.Kind == durability.LossReturn {
			words = fmt.Sprintf("percent of stones judged %s that come back damaged in the first year", prior.Level)
		}
		key := fmt.Sprintf("loss_%s_%s", prior.Kind, prior.Level)
		fallback := fmt.Sprintf("%g:%g", prior.Mean*100, prior.Stones)
		out = append(out, Setting{key, fallback, words + ", and the weight of that estimate in stones (RATE:STONES)",
			func(c *Config, v string) *fault.Fault {
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

// readEstimate reads "4" or "4:50": a rate in percent and, after a colon, its
// weight in stones; the default weight is used without it. The rate is returned
// as a share.
func readEstimate(v string, weight float64) (rate, stones float64, f *fault.Fault) {
	percent, n, weighed := strings.Cut(v, ":")
	p, f := num.ParsePercent(strings.TrimSpace(percent))
	if f != nil || !weighed {
		return p.Float() / 100, weight, f
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
		return fault.New(fault.Invalid, "loss-weight", fmt.Sprintf("the weight of an estimate must be at most "+
			"1000000 stones, but is %g", p.Stones), "give the number of stones that the estimate is worth, e.g. 50")
	}
	return p.Check()
}
