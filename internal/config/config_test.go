package config

import (
	"reflect"
	"strings"
	"testing"

	"lotpaper/internal/fault"
)

// settingCases are, for every setting that the book has, a value other than its
// default and values that it must refuse. A name may be anything.
var settingCases = map[string]struct {
	good string
	bad  []string
}{
	"name":               {"Sample Stones", nil},
	"carat_rule":         {"half-up", []string{"up"}},
	"future_dates":       {"yes", []string{"", "maybe"}},
	"weighing_tolerance": {"0.02", []string{"", "-0.001", "a"}},
	"stone_value":        {"book_cost", []string{"", "price"}},
	"haircut":            {"15", []string{"-1", "101"}},
	"identity_k":         {"2", []string{"0.9", "6.1"}},
	"identity_priors":    {"no", []string{"", "maybe"}},
	"identity_bound":     {"1", []string{"0", "51"}},
	"identity_level":     {"99", []string{"49", "100"}},
	"identity_test_all":  {"500", []string{"-1", "a"}},
	"identity_loss":      {"20", []string{"-1", "a"}},
	"identity_vendors":   {"new", []string{"", "old"}},
	"kit": {"refractometer:2; balance", []string{"hammer", "balance:0", "balance:soon",
		"balance:1001"}},
	"balance":           {"0.001", []string{"0", "2"}},
	"measure_tolerance": {"0.1", []string{"", "-0.01", "a"}},
	"offices":           {"LISBON; PORTO", []string{"A/B", "LISBON; lisbon"}},
	"plan_work":         {"100", []string{"-1", "1000001"}},
	"cutter_breakage":   {"3:20", []string{"0", "100", "3:0", "3:-1", "a:20"}},
	"price_by":          {"markup", []string{"", "price"}},
	"margin":            {"40", []string{"-1", "100"}},
	"markup":            {"80", []string{"-1", "10001"}},
	"retail_markup":     {"120", []string{"-1", "10001", "a"}},
	"memo_markup":       {"5", []string{"-1", "1001"}},
	"price_step":        {"5", []string{"-1", "a"}},
	"price_below":       {"0.05", []string{"-1", "a"}},
	"price_up":          {"no", []string{"", "up"}},
	"price_breaks":      {"10:5; 50:8", []string{"1:5", "10", "10:100", "10:0", "50:8; 10:5", "10:5; 10:8"}},
	"price_currencies":  {"USD; JPY", []string{"dollars", "USD, JPY"}},
	"set_discount":      {"5", []string{"-1", "100"}},
	"tax":               {"20", []string{"-1", "101"}},
	"tax_in":            {"no", []string{"", "in"}},
	"tax_margin_scheme": {"yes", []string{"", "margin"}},
	"accounts":          {"inventory=1400; revenue=4000", []string{"1400", "stock=1400", "inventory="}},
	"volatility_metal":  {"20", []string{"-1", "301"}},
	"volatility_fx":     {"10", []string{"-1", "301"}},
	"sales_abroad":      {"USD:40; JPY:10", []string{"USD", "USD:0", "USD:60; JPY:41", "USD:1; USD:2", "dollars:1"}},
	"horizon_months":    {"12", []string{"-1", "121"}},
	"sell_through":      {"85", []string{"0", "101"}},
	"sell_trials":       {"50", []string{"0", "1000001"}},
	"sell_months":       {"9", []string{"-1", "121"}},
	"money_cost":        {"6", []string{"-1", "101"}},
	"pay_days":          {"30", []string{"-1", "3651"}},
	"cash_discount":     {"2", []string{"-1", "100"}},
	"head_trade":        {"gemstones and jewelry lines", []string{"a\nb", "\xff"}},
	"head_address":      {"14 Harbour Steps; 2380 Sandmouth", []string{"a\tb", "1; 2; 3; 4; 5"}},
	"head_telephone":    {"+00 20 555 01 40", []string{"1\r2"}},
	"head_email":        {"office@tideandquill.example", []string{"office", "T <t@q.example>", "a@b c"}},
	"head_tax":          {"VAT XX 000 123 456", []string{"\x00"}},
	"head_bank":         {"Bank of Sandmouth, IBAN XX00 0000", []string{"a\nb"}},
	"head_signs":        {"Ines Rook", []string{"a\nb"}},
	"head_payment":      {"14 days, no deduction", []string{"a\nb"}},
	"head_returns":      {"Unworn pieces within 14 days.", []string{"a\nb"}},
	"head_delivery":     {"Six weeks from your signed order.", []string{"a\nb"}},
	"head_insurance":    {"The receiver, on receipt.", []string{"a\nb"}},
	"head_smallest":     {"400", []string{"-1", "a"}},
	"head_paper":        {"Letter", []string{"", "letter", "A3"}},
	"head_accent": {"120/30/30", []string{"", "18/82", "18/82/92/0", "256/0/0", "-1/0/0",
		"116/116/116", "petrol"}},
	"head_logo":            {"PIC7", []string{"a\nb"}},
	"head_dates":           {"month", []string{"", "dmy"}},
	"loss_setting_sound":   {"0.4:100", []string{"-1", "101", "1:-5", "1:1000001", "a"}},
	"loss_setting_care":    {"2", []string{"-1", "101", "a"}},
	"loss_setting_caution": {"6", []string{"-1", "101", "a"}},
	"loss_setting_avoid":   {"20", []string{"-1", "101", "a"}},
	"loss_return_sound":    {"0.3", []string{"-1", "101", "a"}},
	"loss_return_care":     {"2", []string{"-1", "101", "a"}},
	"loss_return_caution":  {"6", []string{"-1", "101", "a"}},
	"loss_return_avoid":    {"20", []string{"-1", "101", "a"}},
}

// Every setting has words and a default that reads; another value changes the
// settings and one that makes no sense is refused.
func TestSettings(t *testing.T) {
	usual := Default()
	for _, s := range all() {
		c, known := settingCases[s.Key]
		if !known || s.Words == "" {
			t.Errorf("%s: no case in this test, or no words", s.Key)
			continue
		}
		if same, err := configOf(map[string]string{s.Key: s.fallback}); err != nil || !reflect.DeepEqual(same, usual) {
			t.Errorf("%s: its default %q, set: %v", s.Key, s.fallback, err)
		}
		if other, err := configOf(map[string]string{s.Key: c.good}); err != nil || reflect.DeepEqual(other, usual) {
			t.Errorf("%s = %q changes nothing: %v", s.Key, c.good, err)
		}
		for _, bad := range c.bad {
			l := Check(map[string]string{s.Key: bad})
			if !l.Blocks() || l[0].Kind != fault.Invalid || l[0].Where.Ref != s.Key || l[0].Mend == "" {
				t.Errorf("%s = %q is read: %v", s.Key, bad, l)
			}
		}
	}
	for key := range settingCases {
		if s := all(); !containsKey(s, key) {
			t.Errorf("there is no setting %s", key)
		}
	}
	l := Check(map[string]string{"margn": "50", "tax": "-1", "tax_in": "no"})
	if len(l) != 2 || !strings.Contains(l[1].Mend, "margin") {
		t.Errorf("all faults at once, with the nearest name: %v", l)
	}
}

func containsKey(all []Setting, key string) bool {
	for _, s := range all {
		if s.Key == key {
			return true
		}
	}
	return false
}
