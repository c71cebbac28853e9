package config

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"lotpaper/internal/fault"
)

// The accounts of the journal.
const (
	Inventory      = "inventory"       // stones and pieces at cost, wherever they are
	GoodsOut       = "goods_out"       // of these, what lies on papers; by default the account of inventory
	Opening        = "opening"         // what the opening stock stands against
	Payables       = "payables"        // owed to vendors and others
	Receivables    = "receivables"     // owed by customers
	Claims         = "claims"          // owed by who broke or lost stones
	Revenue        = "revenue"         // of sales, without tax
	SalesReturns   = "sales_returns"   // credit notes, without tax
	CostOfSales    = "cost_of_sales"   // IAS 2.34
	TaxPayable     = "tax_payable"     // on sales
	TaxReceivable  = "tax_receivable"  // recoverable, on charges
	Losses         = "losses"          // abnormal loss and breakage (IAS 2.16), counts
	ChargeVariance = "charge_variance" // late charges on what was gone already
	WriteDowns     = "write_downs"     // to net realisable value (IAS 2.28, 2.34)
	Commissions    = "commissions"     // of brokers
	Bank           = "bank"            //
	BankFees       = "bank_fees"       // of payments
	BadDebts       = "bad_debts"       // written off, less what was recovered (IFRS 9 5.4.4)
	Exchange       = "exchange"        // differences of payments (IAS 21.28)
)

// AccountKeys lists the accounts of the journal.
var AccountKeys = []string{Inventory, GoodsOut, Opening, Payables, Receivables, Claims, Revenue,
	SalesReturns, CostOfSales,
	TaxPayable, TaxReceivable, Losses, ChargeVariance, WriteDowns,
	Commissions, Bank, BankFees, BadDebts, Exchange}

// Account is what the bookkeeper calls an account.
func (c Config) Account(key string) string {
	if name := c.Accounts[key]; name != "" {
		return name
	}
	if key == GoodsOut {
		return c.Account(Inventory)
	}
	return strings.ReplaceAll(key, "_", " ")
}

// accounts reads "inventory=1400; revenue=4000".
func accounts(c *Config, v string) *fault.Fault {
	c.Accounts = map[string]string{}
	for _, part := range fields(v) {
		key, name, found := strings.Cut(part, "=")
		key, name = strings.ToLower(strings.TrimSpace(key)), strings.TrimSpace(name)
		switch {
		case !found || name == "":
			return fault.New(fault.Invalid, "config-value", fmt.Sprintf("an account is KEY=ACCOUNT, but is %q", part),
				"write them like inventory=1400; revenue=4000")
		case !slices.Contains(AccountKeys, key):
			return fault.New(fault.Invalid, "account-unknown", fmt.Sprintf("%q is no account of the journal", key),
				cmp.Or(fault.DidYouMean(key, AccountKeys), "use some of "+strings.Join(AccountKeys, ", ")))
		}
		c.Accounts[key] = name
	}
	return nil
}
