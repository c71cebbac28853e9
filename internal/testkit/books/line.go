package books

import (
	"testing"

	"lotpaper/internal/desk"
	"lotpaper/internal/house"
	"lotpaper/internal/lines"
)

// An invented small line: a ring of gold that the line prices, a pendant and
// earrings of silver that the book prices.
const (
	Parcel = "lot,species,variety,treatment,shape,pieces,weight,length_mm,width_mm,depth_mm,calibrated,color,price," +
		"price_basis\n" +
		"T,topaz,,none,oval,12,12.00,8.0,6.0,4.0,yes,light blue,480,total\n" +
		"S,corundum,sapphire,heating,round,20,5.00,4.0,4.0,2.6,yes,blue,600,total\n"
	Rates = "kind,name,value,per,unit,date,source\n" +
		"fx,USD,0.92,1,EUR/USD,2026-01-02,invented\n" +
		"metal,gold,88.40,,EUR/g fine,2026-01-02,invented\nmetal,silver,1.10,,EUR/g fine,2026-01-02,invented\n" +
		"premium,gold,1.5,,%,2026-01-02,invented\npremium,silver,4,,%,2026-01-02,invented\n" +
		"loss,gold,1.2,,%,2026-01-02,invented\nloss,silver,2,,%,2026-01-02,invented\n" +
		"sprue,all,35,,%,2026-01-02,invented\nrefining,all,3,,%,2026-01-02,invented\n" +
		"casting,all,1.60,,EUR/g,2026-01-02,invented\nlabour,bench,38,,EUR/h,2026-01-02,invented\n" +
		"setting,claw,4.50,,EUR/stone,2026-01-02,invented\nsetting,bezel small,6.50,,EUR/stone,2026-01-02,invented\n" +
		"finishing,unit,6,,EUR/unit,2026-01-02,invented\nmarking,unit,1.40,,EUR/unit,2026-01-02,invented\npacking," +
		"unit,2.20,,EUR/unit,2026-01-02,invented\n" +
		"overhead,conversion,18,,%,2026-01-02,invented\n"
	Prices = "species,variety,loose,replacement,date,source\ntopaz,,40,50,2026-01-02,invented\ncorundum,sapphire," +
		"120,150,2026-01-02,invented\n"
	Designs = "design,piece,metal,fineness,metal_g,quantity,price_trade,price_retail,labour_min,findings,fixed_cost\n" +
		"Ring,ring,gold,585,3.2,4,520,1150,30,0,160\nDrop,pendant,silver,925,4.1,8,,,22,3.20,90\nStuds,earrings," +
		"silver,925,2.0,6,,,18,2.40,60\n"
	Positions = "design,position,setting,shape,species,length_min,length_max,count,match,price_max,accept\n" +
		"Ring,center,bezel,round,sapphire,3.8,4.2,2,none,,care\nDrop,center,prong,oval,topaz,7.8,8.2,1,none,," +
		"caution\nStuds,center,bezel,round,sapphire,3.8,4.2,2,pair,,care\n"
)

// Line is a book with the line and, unless parcel is empty, its stones.
func Line(t *testing.T, parcel string, settings map[string]string) *house.House {
	t.Helper()
	a := New(t)
	FillLine(t, a, parcel, settings)
	return a
}

// FillLine writes the line and, unless parcel is empty, its stones.
func FillLine(t *testing.T, a *house.House, parcel string, settings map[string]string) {
	t.Helper()
	ctx := t.Context()
	if parcel != "" {
		Buy(t, a, parcel)
	}
	_, err1 := a.Desk.RatesImport(ctx, desk.RatesImport{Write: Who, File: Text("rates.csv", Rates)})
	_, err2 := a.Desk.PricesImport(ctx, desk.PricesImport{Write: Who, File: Text("prices.csv", Prices)})
	positions := Text("positions.csv", Positions)
	_, err3 := a.Lines.Import(ctx, lines.Import{Write: Who, Line: "Sea", Designs: Text("designs.csv", Designs),
		Positions: &positions})
	var err4 error
	if settings != nil {
		_, err4 = a.Desk.ConfigSet(ctx, desk.ConfigSet{Write: Who, Values: settings})
	}
	for _, err := range []error{err1, err2, err3, err4} {
		if err != nil {
			t.Fatal(err)
		}
	}
}

func LineRequest() lines.Plan { return lines.Plan{Write: Who, Line: "Sea", Seed: 1} }
