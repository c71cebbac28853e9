package app

import (
	"context"
	"encoding/json"
	"fmt"
	"sort"
	"strings"

	"lotpaper/internal/book"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// Config is the book's settings, typed.
type Config struct {
	Name              string        // of the dealer, printed on documents
	CaratRule         num.CaratRule // how documents state carats
	WeighingTolerance num.Carat     // difference that a sort may post to loss/weighing
	StoneValue        string        // loose_price, replacement or book_cost: what using a stone costs a plan
	Haircut           num.Percent   // off the loose price for leftovers and write-downs
	IdentityK         float64       // coverage factor of exclusion
	IdentityPriors    bool          // weigh candidates by trade frequency
	IdentityBound     float64       // upper bound on the share of others that "verified" asks
	IdentityLevel     float64       // confidence of that bound
	Kit               []string      // instruments on the bench; empty: the usual kit
	Balance           string        // resolution of the balance, ct
	PlanWork          int           // work limit of the planner; 0: its default
	Margin            num.Percent   // wanted margin on price, trade
	Tax               num.Percent   // on retail prices, for price tags
}

// setting is one key: its default, its check and its words.
type setting struct {
	key, fallback, words string
	read                 func(c *Config, value string) *fault.Fault
}

var settings = []setting{
	{"name", "", "the dealer's name as documents print it", func(c *Config, v string) *fault.Fault {
		c.Name = v
		return nil
	}},
	{"carat_rule", "nine", "how documents state carats: nine or half-up", func(c *Config, v string) (f *fault.Fault) {
		c.CaratRule, f = num.ParseCaratRule(v)
		return f
	}},
	{"weighing_tolerance", "0.050", "carats that sorted weights may differ from the paper's", func(c *Config, v string) (f *fault.Fault) {
		c.WeighingTolerance, f = num.ParseCarat(v)
		if f == nil && c.WeighingTolerance < 0 {
			f = fault.New(fault.Invalid, "config-value", "the tolerance is not negative", "give carats, e.g. 0.05")
		}
		return f
	}},
	{"stone_value", "loose_price", "what using a stone costs a plan: loose_price, replacement or book_cost", word([]string{"loose_price", "replacement", "book_cost"}, func(c *Config, v string) { c.StoneValue = v })},
	{"haircut", "0", "percent off the loose price for leftovers", percent(0, 100, func(c *Config, p num.Percent) { c.Haircut = p })},
	{"identity_k", "3", "coverage factor beyond which a reading excludes", number(1, 6, func(c *Config, f float64) { c.IdentityK = f })},
	{"identity_priors", "yes", "weigh candidates by how often the trade meets them: yes or no", word([]string{"yes", "no"}, func(c *Config, v string) { c.IdentityPriors = v == "yes" })},
	{"identity_bound", "5", "percent of others that a verified lot may hold at most", number(0.01, 50, func(c *Config, f float64) { c.IdentityBound = f / 100 })},
	{"identity_level", "95", "confidence of that bound, percent", number(50, 99.9, func(c *Config, f float64) { c.IdentityLevel = f / 100 })},
	{"kit", "", "instruments on the bench, with ; between; empty: the usual kit", func(c *Config, v string) *fault.Fault {
		c.Kit = fields(v)
		return nil
	}},
	{"balance", "0.01", "resolution of the balance in carats", func(c *Config, v string) *fault.Fault {
		c.Balance = v
		return number(0.0001, 1, func(*Config, float64) {})(c, v)
	}},
	{"plan_work", "0", "work limit of the planner; 0: its own default", number(0, 1e6, func(c *Config, f float64) { c.PlanWork = int(f) })},
	{"margin", "50", "wanted margin on the trade price, percent of price", percent(0, 99.99, func(c *Config, p num.Percent) { c.Margin = p })},
	{"tax", "0", "tax that retail prices include, percent on top of the net price", percent(0, 100, func(c *Config, p num.Percent) { c.Tax = p })},
}

func fields(s string) []string {
	var out []string
	for _, f := range strings.Split(s, ";") {
		if f = strings.TrimSpace(f); f != "" {
			out = append(out, f)
		}
	}
	return out
}

func word(known []string, set func(*Config, string)) func(*Config, string) *fault.Fault {
	return func(c *Config, v string) *fault.Fault {
		for _, k := range known {
			if v == k {
				set(c, v)
				return nil
			}
		}
		return fault.New(fault.Invalid, "config-value", fmt.Sprintf("the value is %s, but is %q", strings.Join(known, ", "), v), "write one of these words")
	}
}

func percent(low, high float64, set func(*Config, num.Percent)) func(*Config, string) *fault.Fault {
	return func(c *Config, v string) *fault.Fault {
		p, f := num.ParsePercent(v)
		if f != nil {
			return f
		}
		if p.Float() < low || p.Float() > high {
			return fault.New(fault.Invalid, "config-value", fmt.Sprintf("the value lies between %g and %g, but is %s", low, high, v), "give a percentage in that range")
		}
		set(c, p)
		return nil
	}
}

func number(low, high float64, set func(*Config, float64)) func(*Config, string) *fault.Fault {
	return percent(low, high, func(c *Config, p num.Percent) { set(c, p.Float()) })
}

// loadConfig reads the book's settings over the defaults.
func loadConfig(ctx context.Context, tx store.ReadTx) (Config, error) {
	rows, err := store.All[book.Setting](ctx, tx, "")
	if err != nil {
		return Config{}, err
	}
	values := map[string]string{}
	for _, r := range rows {
		values[r.Key] = r.Value
	}
	var c Config
	for _, s := range settings {
		v, given := values[s.key]
		if !given {
			v = s.fallback
		}
		if f := s.read(&c, v); f != nil {
			return Config{}, fmt.Errorf("setting %s: %w", s.key, f)
		}
	}
	return c, nil
}

// ConfigRow is one setting as shown.
type ConfigRow struct {
	Key     string `json:"key"`
	Value   string `json:"value"`
	Default bool   `json:"default"`
	Words   string `json:"words"`
}

// ConfigShow lists every setting.
type ConfigShow struct {
	Currency string      `json:"currency"`
	Zone     string      `json:"zone"`
	Settings []ConfigRow `json:"settings"`
}

// ConfigShow returns the book's settings.
func (a *App) ConfigShow(ctx context.Context) (ConfigShow, error) {
	var out ConfigShow
	err := a.view(ctx, func(tx store.ReadTx) error {
		rows, err := store.All[book.Setting](ctx, tx, "")
		if err != nil {
			return err
		}
		values := map[string]string{}
		for _, r := range rows {
			values[r.Key] = r.Value
		}
		out = ConfigShow{Currency: string(tx.Meta().Currency), Zone: tx.Meta().Zone}
		for _, s := range settings {
			v, given := values[s.key]
			if !given {
				v = s.fallback
			}
			out.Settings = append(out.Settings, ConfigRow{s.key, v, !given, s.words})
		}
		return nil
	})
	return out, err
}

// ConfigSet changes settings, all or none.
func (a *App) ConfigSet(ctx context.Context, w Write, values map[string]string) error {
	var records []book.Record
	var l fault.List
	var known []string
	for _, s := range settings {
		known = append(known, s.key)
		if v, given := values[s.key]; given {
			var scratch Config
			if f := s.read(&scratch, v); f != nil {
				l.Add(f.AtRef(s.key))
			}
			records = append(records, book.Setting{Key: s.key, Value: v})
		}
	}
	var unknown []string
	for k := range values {
		if !contains(known, k) {
			unknown = append(unknown, k)
		}
	}
	sort.Strings(unknown)
	for _, k := range unknown {
		mend := fault.DidYouMean(k, known)
		if mend == "" {
			mend = "list the settings with: lotpaper config show"
		}
		l.Add(fault.New(fault.NotFound, "config-unknown", fmt.Sprintf("there is no setting %q", k), mend).AtRef(k))
	}
	if l.Blocks() {
		return l
	}
	return a.update(ctx, w, func(tx store.Tx, s stamp) error {
		e := s.entry(ledger.Record, "settings changed")
		e.Records = records
		return tx.Post(ctx, &e)
	})
}

func contains(list []string, s string) bool {
	for _, v := range list {
		if v == s {
			return true
		}
	}
	return false
}

// canonical is the JSON of a model, as documents keep it.
func canonical(v any) ([]byte, error) {
	raw, err := json.Marshal(v)
	if err != nil {
		return nil, fmt.Errorf("write a model: %w", err)
	}
	return raw, nil
}
