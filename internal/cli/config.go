package cli

import (
	"context"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/answer"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
	"lotpaper/internal/ui"
)

func (r *root) configCommands() *cobra.Command {
	return r.group("config", "The book's settings", r.configShow, r.configSet)
}

func (r *root) configShow() *cobra.Command {
	return verb("show", "Show every setting, its value and what it does", "", cobra.NoArgs,
		r.reading(func(ctx context.Context, a *house.House, _ []string) error {
			show, err := a.Desk.ConfigShow(ctx)
			if err != nil {
				return err
			}
			if r.Streams.JSON {
				return r.Streams.Document("config-show", show)
			}
			t := &ui.Table{Header: []string{"setting", "value", "default", "what it does"}}
			t.Add("currency", show.Currency, "", "of all cost in this book (fixed)")
			t.Add("zone", show.Zone, "", "decides today's business date (fixed)")
			for _, s := range show.Settings {
				byDefault := ""
				if s.Default {
					byDefault = "yes"
				}
				t.Add(s.Key, s.Value, byDefault, s.Words)
			}
			r.Streams.Table(t)
			return nil
		}))
}

func (r *root) configSet() *cobra.Command {
	return r.writes(verb("set KEY=VALUE ...", "Change settings",
		`  lotpaper config set carat_rule=half-up weighing_tolerance=0.02
`, cobra.MinimumNArgs(1), func(ctx context.Context, args []string) error {
			values, err := settingPairs(args)
			if err != nil {
				return err
			}
			return r.with(ctx, func(a *house.House) error {
				w, err := r.write()
				if err != nil {
					return err
				}
				done, err := a.Desk.ConfigSet(ctx, desk.ConfigSet{Write: w, Values: values})
				if err != nil {
					return err
				}
				return r.configChanged(done)
			})
		}))
}

// settingPairs reads KEY=VALUE arguments.
func settingPairs(args []string) (map[string]string, error) {
	values := map[string]string{}
	for _, arg := range args {
		key, value, found := strings.Cut(arg, "=")
		if !found {
			return nil, fault.New(fault.Usage, "config-pair", "a setting must be given as KEY=VALUE, but is \""+arg+
				"\"",
				"write it like carat_rule=nine")
		}
		values[strings.TrimSpace(key)] = strings.TrimSpace(value)
	}
	return values, nil
}

// configChanged prints the settings that were changed.
func (r *root) configChanged(done answer.ConfigSet) error {
	if r.Streams.JSON {
		return r.Streams.Document("config-set", done)
	}
	t := &ui.Table{Header: []string{"entry", "setting", "before", "now"}}
	for _, c := range done.Changed {
		t.Add(done.Entry, c.Key, c.Before, c.Value)
	}
	r.Streams.Table(t)
	r.dryNote()
	return nil
}
