package answer

import "lotpaper/internal/book"

// Opinion is what a dealer judges a lot's stones to be, beside what the tests
// say of its claim.
type Opinion struct {
	Lot      string    `json:"lot"`
	Called   string    `json:"called"` // "citrine, by the dealer's judgement"
	Reason   string    `json:"reason"`
	Who      string    `json:"who"`
	On       book.Date `json:"on"`
	Identity string    `json:"identity"` // the state of the claim: an opinion changes none
	Tests    []string  `json:"tests"`    // what they say, in words
}

// tests are the state of the claim and the first thing that the tests say.
func (o *Opinion) tests() string {
	if len(o.Tests) == 0 {
		return o.Identity
	}
	return o.Identity + ", " + o.Tests[0]
}

// LotOpinion is a lot as the dealer named it.
type LotOpinion struct {
	Entry   string   `json:"entry"`
	Lot     string   `json:"lot"`
	Claim   string   `json:"claim"`
	Opinion *Opinion `json:"opinion"` // null: withdrawn
	Caution string   `json:"caution"` // of a name that misleads
}

// Screen is the name, and what the tests say beside it.
func (a *LotOpinion) Screen() Screen {
	var s Screen
	if a.Opinion == nil {
		s.line("%s: %s is called %s again, as claimed", a.Entry, a.Lot, a.Claim)
		return s
	}
	s.line("%s: %s is called %s; claimed %s", a.Entry, a.Lot, a.Opinion.Called, a.Claim)
	s.line("tests: %s", a.Opinion.tests())
	if a.Caution != "" {
		s.line("caution: %s", a.Caution)
	}
	return s
}
