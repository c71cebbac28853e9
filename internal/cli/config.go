package cli

import (
	"context"
	"strings"

	"github.com/spf13/cobra"

	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/house"
)

func (r *root) configCommands() *cobra.Command {
	return r.group("config", "The book's settings", r.configShow, r.configSet)
}

func (r *root) configShow() *cobra.Command {
	var out output
	c := verb("show", "Show every setting, its value and what it does", "", cobra.NoArgs,
		r.reading(func(ctx context.Context, a *house.House, _ []string) error {
			show, err := a.Desk.ConfigShow(ctx, desk.ConfigShow{})
			if err != nil {
				return err
			}
			return r.list("config-show", &show, out)
		}))
	out.ofList(c)
	return c
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
				return r.wroteBook("config-set", &done)
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
