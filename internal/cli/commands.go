package cli

import "github.com/spf13/cobra"

// commands lists every command of the program.
func (r *root) commands() []*cobra.Command {
	return []*cobra.Command{
		r.initCommand(), r.backupCommand(), r.restoreCommand(), r.configCommands(), r.ledgerCommands(),
		r.periodCommands(),
		r.ratesCommands(), r.pricesCommands(), r.partyCommands(),
		r.parcelCommands(), r.chargeCommands(), r.reportCommands(), r.lotCommands(), r.stockCommands(),
		r.readingCommands(), r.identifyCommand(), r.settingCommands(),
		r.lineCommands(), r.offerCommands(), r.orderCommands(), r.memoCommands(), r.holdCommands(), r.workCommands(),
		r.setterCommands(), r.pieceCommands(), r.saleCommands(), r.paymentCommands(), r.documentCommands(),
		r.pictureCommands(),
		r.templateCommand(), r.calcCommands(), r.demoCommand(),
	}
}
