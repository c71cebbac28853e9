// Package durability decides which stone may be set where: rules over facts of
// the stone, the setting, the piece, the wear, the bench steps and the display
// give findings, and the worst finding of each part is its verdict. The engine
// knows no gem and no setting by name; the rules are rows of
// data/rules_HAZARD.csv, each with its source. The source supports what the rule
// says; where the rule draws a line on the scores of rub and knocks is the
// project's own choice, which tests compare with published advice. Words on
// hazards are the usual cautions of the trade: local rules and a licensed or
// experienced bench jeweller come first.
package durability

import "encoding/json"

// Level grades a finding: 0 sound, 1 care, 2 caution, 3 avoid.
type Level int

// The levels, from the best to the worst.
const (
	Sound Level = iota
	Care
	Caution
	Avoid
)

var levelWords = [...]string{"sound", "care", "caution", "avoid"}

// String is the word of the level.
func (l Level) String() string {
	if l < 0 || int(l) >= len(levelWords) {
		return "unknown"
	}
	return levelWords[l]
}

// LevelNamed reads a level's word; ok is false for any other word.
func LevelNamed(word string) (Level, bool) {
	for i, w := range levelWords {
		if w == word {
			return Level(i), true
		}
	}
	return 0, false
}

// Part is what a finding weighs on.
type Part string

// The parts: what nobody can avoid once the stone is set and worn; what is
// planned at the bench; and where the jewel lies when it is not worn.
const (
	PartSetting Part = "setting"
	PartBench   Part = "bench"
	PartDisplay Part = "display"
)

var parts = [...]Part{PartSetting, PartBench, PartDisplay}

// Hazard is a way in which a stone comes to harm; each has its own rule table.
type Hazard string

// The hazards, in the order in which findings of one level are told.
const (
	Unknowns   Hazard = "unknown"
	Knocks     Hazard = "knocks"
	Scratch    Hazard = "scratch"
	Pressure   Hazard = "pressure"
	Shape      Hazard = "shape"
	Treatment  Hazard = "treatment"
	Neighbours Hazard = "neighbours"
	Chemicals  Hazard = "chemicals"
	Soaking    Hazard = "soaking"
	Heat       Hazard = "heat"
	Ultrasonic Hazard = "ultrasonic"
	Steam      Hazard = "steam"
	Light      Hazard = "light"
	LampHeat   Hazard = "lamp"
)

var hazards = [...]Hazard{Unknowns, Knocks, Scratch, Pressure, Shape, Treatment, Neighbours, Chemicals, Soaking, Heat,
	Ultrasonic, Steam, Light, LampHeat}

// Levels are the three verdicts of a situation; Setting is the headline.
type Levels struct {
	Setting Level `json:"setting"`
	Bench   Level `json:"bench"`
	Display Level `json:"display"`
}

// Of is the level of one part.
func (l Levels) Of(p Part) Level {
	switch p {
	case PartBench:
		return l.Bench
	case PartDisplay:
		return l.Display
	}
	return l.Setting
}

// Number is one value that a rule compared.
type Number struct {
	Name  string `json:"name"`
	Value string `json:"value"`
	Limit string `json:"limit"` // "at most 6.9", "at least daily", "unknown"
}

// Finding is one rule that holds: what is wrong, why, what is done about it, and
// what would mend it.
type Finding struct {
	Rule    string   `json:"rule"`
	Hazard  Hazard   `json:"hazard"`
	Part    Part     `json:"part"`
	Level   Level    `json:"level"`
	Reason  string   `json:"reason"`
	Numbers []Number `json:"numbers"`
	Source  string   `json:"source"`
	Advice  string   `json:"advice"`         // of the trade, where it is set all the same; it lifts no verdict
	Mend    string   `json:"mend"`           // of what decides a part: a change that was judged again, see Mender
	Care    string   `json:"care,omitempty"` // words for the wearer
}

// Dispute is a point on which published sources contradict each other: both are
// told, and which one the facts follow. The worse one counts when its source
// ranks equal or better.
type Dispute struct {
	Hazard      Hazard `json:"hazard"`
	Taken       string `json:"taken"`
	TakenSource string `json:"taken_source"`
	Other       string `json:"other"`
	OtherSource string `json:"other_source"`
}

// Verdict is the full answer for one situation.
type Verdict struct {
	ReadAs string `json:"read_as"` // how the stone's name was read
	Levels
	Findings  []Finding `json:"findings"`   // worst first
	WorkOrder []string  `json:"work_order"` // in the order of the work
	Forbidden []string  `json:"forbidden"`  // bench steps that must never touch this stone
	Guarded   []string  `json:"guarded"`    // bench steps that need caution
	Assumed   []string  `json:"assumed"`    // what was not stated, and what was taken for it
	Disputed  []Dispute `json:"disputed"`   // where published sources contradict each other on this stone
	// SpareStones is the published or usual rule on spares for the setting, in words.
	SpareStones string `json:"spare_stones"`
	// BreakLevel and ReturnLevel grade the two chances of loss: breaking while
	// it is set, and coming back damaged from wear.
	BreakLevel  Level `json:"break_level"`
	ReturnLevel Level `json:"return_level"`
}

// Level is the headline: the setting verdict, which fences plans.
func (v *Verdict) Level() Level { return v.Setting }

// MarshalJSON adds the headline as "level".
func (v Verdict) MarshalJSON() ([]byte, error) {
	type plain Verdict
	return json.Marshal(struct {
		Level Level `json:"level"`
		plain
	}{v.Setting, plain(v)})
}
