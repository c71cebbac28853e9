package demo

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"time"

	"lotpaper/internal/answer"
	"lotpaper/internal/bench"
	"lotpaper/internal/book"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/fitting"
	"lotpaper/internal/house"
	"lotpaper/internal/lines"
	"lotpaper/internal/num"
	"lotpaper/internal/sheet"
	"lotpaper/internal/stockroom"
	"lotpaper/internal/store"
	"lotpaper/samples"
)

// The invented dealer of the samples and the people dealt with.
const (
	demoDealer   = "Tide and Quill, gemstones"
	demoVendor   = "Harrow Sound Traders"
	demoLender   = "Pellam and Daughter"
	demoCutter   = "Osric Vane"
	demoCustomer = "Galerie Sandbar"
	demoLab      = "Northmere Gem Laboratory"
	demoLine     = "Sea"
	demoOpened   = "2026-03-02"
)

// Clock is the samples' own clock: it stands still until the demo moves it
// to its next day, so that two demos make the same book.
type Clock struct{ at time.Time }

// NewClock stands at the day on which the invented dealer opens the book.
func NewClock() *Clock {
	c := &Clock{}
	c.day(demoOpened)
	return c
}

// Now is the clock's time.
func (c *Clock) Now() time.Time { return c.at }

func (c *Clock) day(on book.Date) {
	day, err := time.Parse(time.DateOnly, string(on))
	if err != nil {
		panic("demo: a day of the demo: " + err.Error()) // a slip in this file
	}
	c.at = day.Add(9 * time.Hour)
}

// Meta is what the demo's book is created with.
func Meta() store.Meta {
	return store.Meta{Currency: "EUR", Zone: "UTC", Created: NewClock().Now()}
}

// demo runs the whole job once, by the requests that the commands make.
type demo struct {
	*house.House
	clock  *Clock
	report answer.Demo
	first  []answer.LotIdentity       // before anything was sorted
	lots   map[string]answer.StockLot // as they were then; at the end as they are
	line   answer.LineProposed
	plan   lines.Plan
	orders []answer.Order
}

// Run runs the invented dealer's whole job in an empty book that was made
// with Meta and the clock: it buys, tests, sorts, judges, plans, prices,
// proposes and orders, and says what it found.
func Run(ctx context.Context, s store.Store, clock *Clock) (*answer.Demo, error) {
	d := &demo{House: house.Open(s, clock.Now), clock: clock, plan: lines.Plan{Line: demoLine, Seed: 1}}
	for _, step := range []struct {
		name string
		on   book.Date
		run  func(context.Context) error
	}{
		{"open the book", demoOpened, d.open},
		{"buy the parcel", demoOpened, d.buy},
		{"test the stones", "2026-03-04", d.test},
		{"sort by identity", "2026-03-05", d.sort},
		{"add the laboratory's report", "2026-03-12", d.reported},
		{"plan the line", "2026-03-13", d.planned},
		{"propose the line", "2026-03-13", d.proposed},
		{"order what is short", "2026-03-16", d.ordered},
		{"write the lists", "2026-03-16", d.lists},
		{"look back", "2026-03-16", d.look},
	} {
		clock.day(step.on)
		if err := step.run(ctx); err != nil {
			return nil, fmt.Errorf("demo: %s: %w", step.name, err)
		}
	}
	return &d.report, nil
}

func (d *demo) write() desk.Write { return desk.Write{Who: "demo"} }

// input is one of the samples, kept among the demo's files too.
func (d *demo) input(name, about string) (desk.Input, error) {
	raw, err := samples.FS.ReadFile(name)
	if err != nil {
		return desk.Input{}, fmt.Errorf("read a sample: %w", err)
	}
	d.report.Files = append(d.report.Files, answer.DemoFile{Name: "input/" + name, About: about, Bytes: raw})
	return desk.Input{Reader: bytes.NewReader(raw), Size: int64(len(raw)), Name: name}, nil
}

func (d *demo) open(ctx context.Context) error {
	d.report.Dealer = demoDealer
	settings := map[string]string{"name": demoDealer, "tax": "20"}
	if _, err := d.Desk.Init(ctx, desk.Init{Write: d.write(), Values: settings}); err != nil {
		return err
	}
	rates, err := d.input("rates.csv", "rates of exchange, metal, labour and fees")
	if err != nil {
		return err
	}
	if _, err = d.Desk.RatesImport(ctx, desk.RatesImport{Write: d.write(), File: rates}); err != nil {
		return err
	}
	prices, err := d.input("prices.csv", "the dealer's own price list")
	if err != nil {
		return err
	}
	_, err = d.Desk.PricesImport(ctx, desk.PricesImport{Write: d.write(), File: prices})
	return err
}

func (d *demo) buy(ctx context.Context) error {
	parcel, err := d.input("parcel.csv", "the vendor's list of lots")
	if err != nil {
		return err
	}
	stones, err := d.input("stones.csv", "stones of it that were measured singly")
	if err != nil {
		return err
	}
	bought, err := d.Stockroom.ParcelImport(ctx, stockroom.ParcelImport{Write: d.write(), Label: "sea colours",
		Vendor: demoVendor, Currency: "USD", File: parcel, Stones: &stones})
	if err != nil {
		return err
	}
	memo, err := d.input("memo.csv", "a lot on memo in")
	if err != nil {
		return err
	}
	if _, err := d.Stockroom.ParcelImport(ctx, stockroom.ParcelImport{Write: d.write(), Label: "pears on memo",
		Vendor: demoLender, Currency: "USD", Due: "2026-04-15", File: memo}); err != nil {
		return err
	}
	for _, c := range []struct{ kind, currency, amount, tax string }{
		{"freight", "USD", "64.00", "0"},
		{"insurance", "USD", "38.50", "0"},
		{"duty", "EUR", "57.80", "954.90"}, // import tax is recoverable
	} {
		charge := stockroom.ChargeAdd{Write: d.write(), Parcel: bought.Parcel.Code, Kind: c.kind}
		var f, taxFault *fault.Fault
		charge.Amount, f = num.ParseMoney(c.amount, num.Currency(c.currency))
		charge.Tax, taxFault = num.ParseMoney(c.tax, num.Currency(c.currency))
		if f != nil || taxFault != nil {
			return fmt.Errorf("a charge of the demo: %v %v", f, taxFault)
		}
		if c.currency == "USD" {
			charge.Rate = bought.Parcel.Rate
		}
		if _, err := d.Stockroom.ChargeAdd(ctx, charge); err != nil {
			return err
		}
	}
	return nil
}

func (d *demo) test(ctx context.Context) error {
	readings, err := d.input("readings.csv", "bench readings")
	if err != nil {
		return err
	}
	if _, err := d.Bench.ReadingImport(ctx, bench.ReadingImport{Write: d.write(),
		File: readings}); err != nil {
		return err
	}
	d.first, d.lots, err = d.identities(ctx)
	return err
}

// sort takes the stones that are shown to be something else out of every
// mixed lot.
func (d *demo) sort(ctx context.Context) error {
	for _, id := range d.first {
		if id.State != "mixed" {
			continue
		}
		if _, err := d.Stockroom.LotSortByIdentity(ctx,
			stockroom.LotSortByIdentity{Movement: stockroom.Movement{Write: d.write()},
				Lot: id.Lot}); err != nil {
			return err
		}
	}
	return nil
}

func (d *demo) reported(ctx context.Context) error {
	const lot = "A12.2"
	weight, f := num.ParseCarat("0.557")
	if f != nil {
		return f
	}
	if _, err := d.Bench.ReportAdd(ctx, bench.ReportAdd{Write: d.write(), Report: book.Report{
		Lab: demoLab, Number: "N-26-00417", Lot: lot, On: "2026-03-11", Weight: weight,
		Species: "spinel", Nature: "natural", Treatment: "none", Origin: "Tal Orsin",
	}}); err != nil {
		return err
	}
	fee, f := num.ParseMoney("55.00", "EUR")
	if f != nil {
		return f
	}
	_, err := d.Stockroom.ChargeAdd(ctx, stockroom.ChargeAdd{Write: d.write(), Lot: lot, Kind: "laboratory",
		Amount: fee})
	return err
}

func (d *demo) planned(ctx context.Context) error {
	designs, err := d.input("designs.csv", "the line: its designs")
	if err != nil {
		return err
	}
	positions, err := d.input("positions.csv", "the line: what each position asks for")
	if err != nil {
		return err
	}
	if _, err := d.Lines.Import(ctx, lines.Import{Write: d.write(), Line: demoLine, Designs: designs,
		Positions: &positions}); err != nil {
		return err
	}
	r := d.plan
	r.Write, r.Hold = d.write(), true
	_, err = d.Lines.Plan(ctx, r)
	return err
}

func (d *demo) proposed(ctx context.Context) error {
	r := lines.Propose{Plan: d.plan, Customer: demoCustomer}
	r.Write = d.write()
	var err error
	if d.line, err = d.Lines.Propose(ctx, r); err != nil {
		return err
	}
	for _, doc := range d.line.Documents {
		d.file(doc.File, doc.Title, doc.Bytes)
	}
	return nil
}

func (d *demo) file(name, about string, raw []byte) {
	d.report.Files = append(d.report.Files, answer.DemoFile{Name: name, About: about, Bytes: raw})
}

func (d *demo) ordered(ctx context.Context) error {
	if len(d.line.Price.Plan.Short) == 0 {
		return nil
	}
	r := lines.OrderDraft{Plan: d.plan, Cutter: demoCutter, Due: "2026-04-20"}
	r.Write = d.write()
	drafted, err := d.Lines.OrderDraft(ctx, r)
	if err != nil {
		return err
	}
	o := drafted.Orders[0]
	issued, err := d.Stockroom.OrderIssue(ctx, stockroom.OrderIssue{Write: d.write(), Number: o.Number})
	if err != nil {
		return err
	}
	doc := issued.Document
	d.file(doc.File, doc.Title, doc.Bytes)
	shown, err := d.Stockroom.OrderShow(ctx, stockroom.OrderShow{Number: o.Number})
	d.orders = shown.Orders
	return err
}

// lists writes the workbooks that are no issued documents.
func (d *demo) lists(ctx context.Context) error {
	var b bytes.Buffer
	if _, err := d.Stockroom.StockFile(ctx, stockroom.StockFile{To: &b}); err != nil {
		return err
	}
	d.file("stock.xlsx", "stock list", b.Bytes())
	doubt, err := d.Bench.Identify(ctx, bench.Identify{Doubt: true, Chart: true})
	if err != nil {
		return err
	}
	wb, err := doubt.Workbook()
	if err != nil {
		return err
	}
	if err := d.workbook("lots-in-doubt.xlsx", "lots whose tests do not settle what they are", wb); err != nil {
		return err
	}
	matrix, err := d.Fitting.Matrix(ctx, fitting.Matrix{Piece: "ring", Wear: "daily"})
	if err != nil {
		return err
	}
	if wb, err = matrix.Workbook(); err != nil {
		return err
	}
	return d.workbook("settings-daily-ring.xlsx", "every lot in every setting of a ring for daily wear", wb)
}

func (d *demo) workbook(name, about string, wb *sheet.Workbook) error {
	var b bytes.Buffer
	if err := wb.Write(io.Writer(&b)); err != nil {
		return fmt.Errorf("write %s: %w", name, err)
	}
	d.file(name, about, b.Bytes())
	return nil
}
