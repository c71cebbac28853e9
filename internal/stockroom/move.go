package stockroom

import (
	"cmp"
	"context"
	"fmt"
	"strings"

	"lotpaper/internal/answer"
	"lotpaper/internal/book"
	"lotpaper/internal/config"
	"lotpaper/internal/desk"
	"lotpaper/internal/fault"
	"lotpaper/internal/ledger"
	"lotpaper/internal/num"
	"lotpaper/internal/store"
)

// Movement is the part of every request that moves stones.
type Movement struct {
	desk.Write
	Accept string     // why what the checks of a movement refuse is accepted
	For    string     // the line or customer that held stones move for
	Office book.Place // the safe that stones come to; empty: the one that they left, new ones to the first
}

// Moving is pieces of one lot on their way out or back. Zero pieces means all
// that is there; zero carats with all pieces means all the weight.
type Moving struct {
	Lot    string
	Pieces int64
	Carats num.Carat
}

// mover moves stones within one transaction: it adds to one entry, and sees
// what the entry has moved so far.
type mover struct {
	Movement
	tx     store.Tx
	config config.Config
	on     book.Date
	entry  *ledger.Entry

	keepHolds bool       // what moves between offices stays held
	office    book.Place // where what comes goes; empty: nobody says
	claimed   int        // postings whose claims are recorded already
	warnings  fault.List // what the movement tells beside what it did

	parties *desk.Parties // read when they are first asked for: no movement changes them
}

// newMover starts an entry that moves stones.
func newMover(ctx context.Context, tx store.Tx, s desk.Stamp, m Movement, e *ledger.Entry) (*mover, error) {
	cfg, err := config.Load(ctx, tx)
	if err != nil {
		return nil, err
	}
	if m.Accept != "" {
		e.Reason += "; accepted: " + m.Accept
	}
	out := &mover{Movement: m, tx: tx, config: cfg, on: s.On, entry: e}
	if m.Office != "" {
		out.office, err = newGoods(cfg, m.Office)
	}
	return out, err
}

// post writes the entry and says what moved; lots are those that it made or
// changed.
func (m *mover) post(ctx context.Context, lots ...string) (answer.Moved, error) {
	out, err := post(ctx, m.tx, m.entry, lots...)
	out.Warnings = append(out.Warnings, m.warnings...)
	return out, err
}

// post writes an entry and says what moved and what lies there now; lots are
// those that it made or changed.
func post(ctx context.Context, tx store.Tx, e *ledger.Entry, lots ...string) (answer.Moved, error) {
	if err := tx.Post(ctx, e); err != nil {
		return answer.Moved{}, err
	}
	if err := checkPieces(ctx, tx, e); err != nil {
		return answer.Moved{}, err
	}
	out := answer.Moved{Entry: e.Code, Lots: answer.List(lots), Postings: e.Postings, Warnings: fault.List{},
		Now: []ledger.Balance{}}
	if out.Postings == nil {
		out.Postings = []ledger.Posting{}
	}
	for _, lot := range e.Lots() {
		now, err := tx.Balances(ctx, store.BalanceFilter{Lot: lot, RealOnly: true})
		if err != nil {
			return out, err
		}
		out.Now = append(out.Now, now...)
	}
	return out, nil
}

// lotAt reads a lot and its balance at a place, as the entry leaves them so far;
// it fails when nothing is there.
func (m *mover) lotAt(ctx context.Context, code string, at book.Place) (answer.StockLot, ledger.Balance, error) {
	s, err := m.stockOf(ctx, code)
	if err != nil {
		return s, ledger.Balance{}, err
	}
	here, err := heldAt(s, at)
	return s, here, err
}

// stockOf reads a lot with what it has, both as the entry leaves them so far; it
// may be a lot that the entry makes.
func (m *mover) stockOf(ctx context.Context, code string) (answer.StockLot, error) {
	s, err := desk.StockOf(ctx, m.tx, code)
	for _, r := range m.entry.Records {
		if lot, is := r.(book.Lot); is && strings.EqualFold(lot.Code, code) {
			if err != nil {
				s, err = answer.StockLot{Cost: num.Zero(m.tx.Meta().Currency)}, nil
			}
			s.Lot = lot
		}
	}
	if err != nil {
		return s, err
	}
	for _, p := range m.entry.Postings {
		if strings.EqualFold(p.Lot, s.Code) && p.Place.IsReal() {
			s.Post(p)
		}
	}
	return s, nil
}

// heldAt is what a lot has at a place; it fails when nothing is there.
func heldAt(s answer.StockLot, at book.Place) (ledger.Balance, error) {
	here := s.At(at)
	if here.Pieces == 0 {
		return here, nothingAt(s, at)
	}
	return here, nil
}

func nothingAt(s answer.StockLot, at book.Place) *fault.Fault {
	return fault.New(fault.Refused, "move-nothing", fmt.Sprintf("%s has nothing at %s", s.Code, at),
		"see where it is").AtRef(s.Code).Do("lot", "show", s.Code)
}

// takeOut checks what leaves a place of one lot, and returns the lot and the cost
// that leaves: a part is weighed, its mean is possible, and none of it is held for
// others.
func (m *mover) takeOut(ctx context.Context, x Moving, from book.Place) (answer.StockLot, num.Money, error) {
	s, here, err := m.lotAt(ctx, x.Lot, from)
	if err != nil {
		return s, num.Money{}, err
	}
	if x.Carats == 0 && here.Carats > 0 {
		return s, num.Money{}, fault.New(fault.Usage, "move-weight", fmt.Sprintf("a part of %s moves, so its weight "+
			"is wanted", s.Code), "weigh what moves").AtRef(s.Code).AtField("carats")
	}
	cost, f := ledger.Take(s.Places, from, x.Pieces, x.Carats)
	if f != nil {
		return s, cost, f
	}
	if x.Pieces < here.Pieces {
		if err := m.refuse(ledger.CheckMeans(here, ledger.Leaving{Pieces: x.Pieces, Carats: x.Carats})); err != nil {
			return s, cost, err
		}
	}
	return s, cost, m.takeHeld(ctx, s, from, x.Pieces)
}

// carry moves pieces of lots from one place to another at their average cost,
// and returns what moved. A finished piece moves alone from place to place; when it
// leaves the book its stones leave with it. Held stones stay, unless they move for whom they are
// held for: what moves is held no more. From the safe means from that of the office
// where a lot lies.
func (m *mover) carry(ctx context.Context, from, to book.Place, lots ...Moving) ([]book.Sent, error) {
	var out []book.Sent
	if err := m.notFromPiece(ctx, from, to); err != nil {
		return nil, err
	}
	for _, x := range lots {
		from, err := m.safeOf(ctx, x.Lot, from, "from")
		if err != nil {
			return nil, err
		}
		_, here, err := m.lotAt(ctx, x.Lot, from)
		if err != nil {
			return nil, err
		}
		if x.Pieces == 0 {
			x.Pieces = here.Pieces
		}
		if x.Carats == 0 && x.Pieces == here.Pieces {
			x.Carats = here.Carats
		}
		s, cost, err := m.takeOut(ctx, x, from)
		if err != nil {
			return nil, err
		}
		m.entry.Postings = append(m.entry.Postings, ledger.Move(s.Code, from, to, x.Pieces, x.Carats, cost)...)
		sent := book.Sent{Lot: s.Code, Pieces: x.Pieces, Carats: x.Carats}
		if from != book.Safe {
			sent.From = from
		}
		out = append(out, sent)
		inside, err := m.takeAlong(ctx, s.Lot, to)
		if err != nil {
			return nil, err
		}
		out = append(out, inside...)
	}
	return out, nil
}

// inHand refuses work on stones that lie on a paper: they come back by it first.
func inHand(place book.Place) *fault.Fault {
	switch place.Kind() {
	case book.AtPiece:
		return fault.New(fault.Refused, "place-piece", "stones in "+place.Name()+
			" are taken out of it before they are "+
			"sorted, split or merged", "take them out, and weigh them").AtRef(place.Name()).AtField("place").
			Do("piece", "unset", place.Name())
	case book.AtPaper:
	default:
		return nil
	}
	return fault.New(fault.Refused, "place-paper", "stones on paper "+place.Name()+" come back by it before they are "+
		"sorted, split, merged or adjusted", "book what came back first").AtRef(place.Name()).AtField("place")
}

// takeHeld refuses to move stones that are held for others, and lowers the holds
// of those whom they move for.
func (m *mover) takeHeld(ctx context.Context, s answer.StockLot, from book.Place, pieces int64) error {
	if from.Kind() == book.AtPiece || m.keepHolds {
		return nil
	}
	holds, err := desk.HoldsOn(ctx, m.tx, s.Code, m.on)
	if err != nil {
		return err
	}
	var free int64 // what is in hand in the safes; what is out already can be held too
	for _, b := range s.Places {
		if b.Place.Kind() == book.AtOffice || from.Kind() != book.AtOffice && b.Place.Kind() != book.AtPiece {
			free += b.Pieces
		}
	}
	var others []string
	for _, h := range holds {
		if !h.Serves(m.For) {
			free -= h.Pieces
			others = append(others, h.Words())
		}
	}
	if pieces > free && len(others) > 0 {
		return fault.New(fault.Refused, "held", fmt.Sprintf("%d of %s cannot move: %s are held, which leaves %d free",
			pieces, s.Code, strings.Join(others, ", "), max(0, free)),
			"move them for whom they are held, or release the hold").AtRef(s.Code).AtField("for").
			Do("line", "release", s.Code)
	}
	left := pieces
	for _, h := range holds {
		if taken := min(left, h.Pieces); h.Serves(m.For) && taken > 0 {
			h.Pieces -= taken
			left -= taken
			m.record(h)
		}
	}
	return nil
}

// record adds a record to the entry, in place of an earlier one with its key.
func (m *mover) record(r book.Record) {
	for i, x := range m.entry.Records {
		if x.RecordKind() == r.RecordKind() && strings.EqualFold(x.RecordKey(), r.RecordKey()) {
			m.entry.Records[i] = r
			return
		}
	}
	m.entry.Records = append(m.entry.Records, r)
}

// resolution is that of the coarsest balance on which what comes back from a place
// is weighed: the book's, or the party's.
func (m *mover) resolution(ctx context.Context, from book.Place) (num.Carat, error) {
	parties, err := m.readParties(ctx)
	if err != nil {
		return 0, err
	}
	party, err := parties.At(ctx, m.tx, from)
	return max(m.config.Weighing(), parties.Record(party).Balance), err
}

// readParties are the parties of the book.
func (m *mover) readParties(ctx context.Context) (_ *desk.Parties, err error) {
	if m.parties == nil {
		m.parties, err = desk.ReadParties(ctx, m.tx)
	}
	return m.parties, err
}

// refuse returns the fault unless the movement is accepted with a reason.
func (m *mover) refuse(f *fault.Fault) error {
	if f == nil || m.Accept != "" {
		return nil
	}
	return f
}

// whereTo is where stones of an outcome go that came off a paper.
var whereTo = map[book.Outcome]book.Place{
	book.Accepted: book.Safe, book.Rejected: book.Safe, book.Unworked: book.Safe,
	book.Broken: book.LossBreakage, book.Missing: book.LossCount, book.Chips: book.LossCutting, book.Rough: book.Safe,
}

// bring books what became of stones of one lot on a paper. Lines say what was
// counted and weighed; those that lost stones may leave out the weight. What no
// line names stays out. Lines come back with what they take off the paper, and
// where the stones are now.
//
// When the lines account for every stone, the weight is compared with what went
// out; a difference within the tolerance of one weighing goes to loss/weighing,
// and a greater one is refused until it is accepted with a reason. The cost of
// broken stones stays on the rest of the lot, unless it is claimed from the party
// or nothing else is left. What comes back to the safe comes to the office that it
// left from. What was worked on is another lot now (Into): such
// a line says itself what it takes off the paper.
func (m *mover) bring(ctx context.Context, from book.Place, lot string, lines []book.BatchLine) ([]book.BatchLine,
	error) {
	s, here, err := m.lotAt(ctx, lot, from)
	if err != nil {
		return nil, err
	}
	if s.IsPiece() && len(lines) == 1 && lines[0].Pieces == 0 {
		lines[0].Pieces = 1 // a finished piece is one
	}
	resolution, err := m.resolution(ctx, from)
	if err != nil {
		return nil, err
	}
	if err := m.weighBack(s, here, resolution, lines); err != nil {
		return nil, err
	}
	m.lowerAgreed(s, goneOf(lines))
	var total book.Weighed
	for _, l := range lines {
		total.Pieces += l.Off.Pieces
		total.Carats += l.Off.Carats
	}
	diff := here.Carats - total.Carats
	if total.Pieces < here.Pieces {
		diff = 0 // the rest stays out
	}
	if diff != 0 {
		zero := num.Zero(m.tx.Meta().Currency)
		m.entry.Postings = append(m.entry.Postings,
			ledger.Posting{Lot: s.Code, Place: from, Carats: -diff, Cost: zero},
			ledger.Posting{Lot: s.Code, Place: book.LossWeighing, Carats: diff, Cost: zero})
		if s, _, err = m.lotAt(ctx, lot, from); err != nil {
			return nil, err
		}
	}
	leaving := make([]ledger.Leaving, len(lines))
	for i, l := range lines {
		lost := l.Outcome == book.Broken && !l.Claim || l.Outcome == book.Chips || l.Outcome == book.Rough
		leaving[i] = ledger.Leaving{Pieces: l.Off.Pieces, Carats: l.Off.Carats, Free: lost}
	}
	costs, f := ledger.Leave(s.Places, from, leaving)
	if f != nil {
		return nil, f
	}
	if f := takeNRV(s.Code, lines, costs); f != nil {
		return nil, f
	}
	last := len(lines) - 1
	for i := range lines {
		if lines[i].To = cmp.Or(lines[i].To, whereTo[lines[i].Outcome]); lines[i].To == book.Safe {
			if lines[i].To, err = m.comesTo(ctx, s.Code, from); err != nil {
				return nil, err
			}
		}
		m.land(s.Code, from, &lines[i], costs[i])
		inside, err := m.loseInside(ctx, s.Lot, lines[i])
		if err != nil {
			return nil, err
		}
		lines = append(lines, inside...)
	}
	lines[last].Off.Carats += diff // the scale's difference left the paper too
	return lines, nil
}

// land posts one line: its stones to where they go, its cost with them or, when
// it is claimed, to the party's account.
func (m *mover) land(lot string, from book.Place, l *book.BatchLine, cost num.Money) {
	l.Lot = lot
	if l.Into != "" {
		m.entry.Postings = append(m.entry.Postings, worked(lot, from, *l, cost)...)
		return
	}
	moved := ledger.Move(lot, from, l.To, l.Off.Pieces, l.Off.Carats, cost)
	if l.Claim {
		moved[1].Cost = num.Zero(cost.Currency())
		moved = append(moved, ledger.Posting{Lot: lot, Place: chargedClaim, Cost: cost})
	}
	m.entry.Postings = append(m.entry.Postings, moved...)
}

// worked are the postings of stones that were worked on: they are another lot now,
// the weight lost is a loss of cutting, and cutting makes several stones of one or
// one of several.
func worked(lot string, from book.Place, l book.BatchLine, cost num.Money) []ledger.Posting {
	zero := num.Zero(cost.Currency())
	out := []ledger.Posting{
		{Lot: lot, Place: from, Pieces: -l.Off.Pieces, Carats: -l.Off.Carats, Cost: cost.Neg()},
		{Lot: l.Into, Place: l.To, Pieces: l.Pieces, Carats: l.Carats, Cost: cost},
	}
	if lost := l.Off.Carats - l.Carats; lost != 0 {
		out = append(out, ledger.Posting{Lot: lot, Place: book.LossCutting, Carats: lost, Cost: zero})
	}
	if made := l.Pieces - l.Off.Pieces; made != 0 {
		out = append(out, ledger.Posting{Lot: l.Into, Place: book.MadeCutting, Pieces: -made, Cost: zero})
	}
	return out
}

// weighBack fills in what each line takes off the paper, and compares count,
// weight and measures with what is out there.
func (m *mover) weighBack(s answer.StockLot, here ledger.Balance, resolution num.Carat,
	lines []book.BatchLine) error {
	var pieces int64
	var weight num.Carat
	var unweighed []int
	for i := range lines {
		l := &lines[i]
		if l.Into == "" {
			l.Off = l.Weighed
		}
		if l.Pieces < 0 || l.Carats < 0 || l.Pieces == 0 && l.Carats == 0 {
			return fault.New(fault.Usage, "return-nothing", "a line of a return has pieces or weight",
				"give what came back of "+s.Code).AtRef(s.Code)
		}
		if l.Pieces == 0 && l.Outcome != book.Chips {
			return fault.New(fault.Usage, "return-pieces", fmt.Sprintf("%s ct of %s come back without pieces", l.Carats,
				s.Code), "count them").AtRef(s.Code)
		}
		pieces += l.Off.Pieces
		weight += l.Off.Carats
		if l.Off.Pieces > 0 && l.Off.Carats == 0 && here.Carats > 0 {
			if l.Outcome != book.Broken && l.Outcome != book.Missing && l.Outcome != book.Placed {
				return fault.New(fault.Usage, "return-weight", "what comes back of "+s.Code+" is weighed", "weigh it").
					AtRef(s.Code)
			}
			unweighed = append(unweighed, i)
		}
		if err := m.refuse(m.measured(s, *l)); err != nil {
			return err
		}
	}
	if pieces > here.Pieces {
		return fault.New(fault.Refused, "return-pieces",
			fmt.Sprintf("%d pieces are accounted for, but %d of %s were at %s", pieces, here.Pieces, s.Code,
				here.Place), "count again; stones get switched").AtRef(s.Code)
	}
	whole := pieces == here.Pieces
	rest := here.Carats - weight
	if whole && rest > 0 && len(unweighed) == 0 { // splinters of what broke are not all found again
		for i, l := range lines {
			dust := ledger.Leaving{Pieces: l.Pieces, Carats: l.Off.Carats + rest}
			if l.Outcome == book.Broken && ledger.CheckMeans(here, dust) == nil {
				lines[i].Off.Carats += rest
				return nil
			}
		}
	}
	if len(unweighed) > 0 {
		if rest <= 0 {
			return tooHeavy(s.Code, weight, here)
		}
		m.spread(here, lines, unweighed, whole, rest)
	}
	if !whole {
		if weight > here.Carats {
			return tooHeavy(s.Code, weight, here)
		}
		return m.means(here, lines)
	}
	if tolerance := ledger.Tolerance(resolution); len(unweighed) == 0 && (rest > tolerance || -rest > tolerance) {
		return m.refuse(fault.New(fault.Refused, "return-differs",
			fmt.Sprintf("%s came back with %s ct, but went out with %s ct: the difference of %s ct is over the "+
				"tolerance of %s ct of one weighing", s.Code, weight, here.Carats, rest, tolerance),
			"measure and test the stones before accepting them; then say why they are accepted").AtRef(s.Code).
			AtField("accept"))
	}
	return nil
}

// spread gives stones that nobody can weigh any more their weight: what is
// missing when every stone is accounted for, else their part of the mean.
func (m *mover) spread(here ledger.Balance, lines []book.BatchLine, unweighed []int, whole bool, rest num.Carat) {
	weights := make([]num.Dec, len(unweighed), len(unweighed)+1)
	var pieces int64
	for i, at := range unweighed {
		weights[i] = num.Int(lines[at].Pieces)
		pieces += lines[at].Pieces
	}
	if !whole {
		rest = here.Carats
		weights = append(weights, num.Int(here.Pieces-pieces))
	}
	for i, c := range rest.ShareCarats(weights)[:len(unweighed)] {
		lines[unweighed[i]].Off.Carats = c
	}
}

// means compares the mean weights of a part of the stones with that of all.
func (m *mover) means(here ledger.Balance, lines []book.BatchLine) error {
	var all ledger.Leaving
	for _, l := range lines {
		all.Pieces += l.Off.Pieces
		all.Carats += l.Off.Carats
		if err := m.refuse(ledger.CheckMeans(here, ledger.Leaving{Pieces: l.Off.Pieces,
			Carats: l.Off.Carats})); err != nil {
			return err
		}
	}
	return m.refuse(ledger.CheckMeans(here, all))
}

func tooHeavy(lot string, weight num.Carat, here ledger.Balance) *fault.Fault {
	return fault.New(fault.Refused, "return-heavier",
		fmt.Sprintf("what came back of %s weighs %s ct, but %d pieces with %s ct were at %s", lot, weight, here.Pieces,
			here.Carats, here.Place), "weigh again; stones get switched").AtRef(lot)
}

// measured compares the measures of a single stone that came back as it went
// with those in the book.
func (m *mover) measured(s answer.StockLot, l book.BatchLine) *fault.Fault {
	if s.Pieces != 1 || l.Into != "" {
		return nil
	}
	for _, d := range []struct {
		what     string
		was, now book.Size
	}{{"length", s.Length, l.Length}, {"width", s.Width, l.Width}, {"depth", s.Depth, l.Depth}} {
		if d.was.IsZero() || d.now.IsZero() || d.was.Min != d.was.Max {
			continue
		}
		if off := d.now.Min - d.was.Min; off > m.config.Measure || -off > m.config.Measure {
			return fault.New(fault.Refused, "return-measures",
				fmt.Sprintf("%s measures %s mm in %s, but measured %s mm when it went out: more than %s mm apart",
					s.Code, d.now, d.what, d.was, m.config.Measure),
				"test the stone before accepting it; then say why it is accepted").AtRef(s.Code).AtField("accept")
		}
	}
	return nil
}

// batch is the record of what came back on a paper with these lines. What they
// claim from the party is recorded beside it.
func (m *mover) batch(ctx context.Context, paper, party string, lines []book.BatchLine) (book.Batch, error) {
	if err := m.claims(ctx, paper, party); err != nil {
		return book.Batch{}, err
	}
	n, err := m.tx.Next(ctx, book.BatchSeries(paper))
	return book.Batch{Paper: paper, Number: n, Party: party, On: m.on, Lines: lines, Accept: m.Accept}, err
}

// issue numbers and renders a paper, which the entry keeps.
func (m *mover) issue(ctx context.Context, s desk.Stamp, d desk.Draft) (book.Document, error) {
	from, err := desk.ReadBasis(ctx, m.tx)
	if err != nil {
		return book.Document{}, err
	}
	issued, err := desk.Issue(ctx, m.tx, s, desk.Papers{From: from, Drafts: []desk.Draft{d}})
	if err != nil {
		return book.Document{}, err
	}
	m.record(issued.Documents[0])
	return issued.Documents[0], nil
}
