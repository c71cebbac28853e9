package cli

import "github.com/spf13/cobra"

// commands lists every command of the program.
func (r *root) commands() []*cobra.Command {
	return []*cobra.Command{
		r.initCommand(), r.backupCommand(), r.restoreCommand(),
		r.configCommands(), r.ledgerCommands(),
		r.lotCommands(), r.chargeCommands(),
	}
}
