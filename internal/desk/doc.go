// Package desk is the open book: one view of it or one update, its settings,
// rates and price list, its lots with what they have, the papers that it
// issues, its check and its backup. The other rooms work over a desk. It
// decides nothing of the trade: what a stone is, where it may go and what it
// earns are questions for bench, fitting and lines.
package desk
