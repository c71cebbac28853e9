package answer

import (
	"lotpaper/internal/book"
	"lotpaper/internal/num"
)

// CutterOrder is what a cutter is asked to cut, recut or supply, from which
// material, and the sheet on which it comes back.
type CutterOrder struct {
	Head
	Order      string          `json:"order"` // O7
	Cutter     string          `json:"cutter"`
	Line       string          `json:"line"`
	Due        book.Date       `json:"due"`
	PriceBasis string          `json:"price_basis"` // per carat cut, per piece, agreed total
	Batch      int64           `json:"batch"`       // that the sheet Return is for
	Breakage   string          `json:"breakage"`    // who bears it
	Specialist string          `json:"specialist"`  // why only a specialist cutter; empty: no need
	Wanted     []CutterWanted  `json:"wanted"`
	Supplied   []SuppliedStone `json:"supplied"`
	People     []PeopleHazard  `json:"people"` // what of the stones can hurt people
	Terms      []string        `json:"terms"`
	Note       string          `json:"note"`
}

// CutterWanted is one kind of stone that is wanted, as the cutter reads it: what
// the dealer would pay at most stays in the book.
type CutterWanted struct {
	Item      string `json:"item"`     // A, B, C ...: its name on every sheet
	Work      string `json:"work"`     // what is to be done: cut, recut, supply
	For       string `json:"for"`      // design/position
	Material  string `json:"material"` // accepted name(s)
	Treatment string `json:"treatment"`
	book.WantedStone
	Color       string `json:"color"`
	Clarity     string `json:"clarity"`
	Style       string `json:"style"` // cut style and crown and pavilion limits
	Orientation string `json:"orientation"`
	Finish      string `json:"finish"`
	book.WantedWeight
	Risk    string  `json:"risk"`
	Why     string  `json:"why"`
	Outline []Point `json:"outline"` // seen from above, to scale
	Laying  Laying  `json:"laying"`
}

// Laying is how the table or the base of a stone lies in the crystal.
type Laying struct {
	Cabochon   bool     `json:"cabochon"`
	Directions []string `json:"directions"` // off, perpendicular, parallel, colour, star, eye
	Words      []string `json:"words"`      // one for each
}

// Point is a point of an outline, x to the right, y up.
type Point struct {
	X num.Millimetre `json:"x"`
	Y num.Millimetre `json:"y"`
}

// SuppliedStone is material sent to the cutter.
type SuppliedStone struct {
	Item      string    `json:"item"` // what it is for; empty: any
	Lot       string    `json:"lot"`
	Material  string    `json:"material"`
	Treatment string    `json:"treatment"`
	Shape     string    `json:"shape"`
	Size      string    `json:"size"`
	Pieces    int64     `json:"pieces"`
	Carats    num.Carat `json:"carats"`
	Owner     string    `json:"owner"`
	Value     num.Money `json:"value"` // for insurance of the transport; zero: not stated
	Note      string    `json:"note"`
}

// JSON is the model's canonical form: lotpaper/cutter-order/1.
func (o *CutterOrder) JSON() ([]byte, error) { return encode("lotpaper/cutter-order/1", o) }
