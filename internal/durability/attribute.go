package durability

import (
	"math"
	"strconv"
	"strings"
)

// attribute is one fact of a situation as the rules see it: an ordered value
// with a worse end. Rules may only ask whether a value lies at or beyond a
// limit towards that end, so no verdict can improve when a fact gets worse.
type attribute uint8

const (
	// The stone.
	hardness attribute = iota
	toughness
	cleavage
	directions
	light
	heat
	acid
	alkali
	solvent
	ultrasonicBath
	steamBath
	porous
	dries
	fluoride
	fills
	coated
	dyed
	assembled
	fractures
	liquid
	points
	length
	slender
	thinGirdle
	harderNeighbour
	// How it is held and worn. Rules compare rub and knocks; the three
	// scores are what they are made of.
	pieceScore
	impactScore
	crownScore
	rub
	knocks
	cosmetics
	wear
	girdleOpen
	closedBack
	corners
	force
	sidePressure
	heatNear
	// What is planned at the bench.
	torch
	ultrasonic
	steam
	pickle
	plating
	resize
	// Where it lies when it is not worn.
	dose
	lux
	lampHeat
	uv
	attributes
)

// unknown is the value of an attribute that nobody has stated or published.
// No limit holds for it; only a rule that asks for "unknown" does.
const unknown = math.MinInt32

// scale names an attribute and orders its values.
type scale struct {
	name  string
	words []string // the ordered words; nil for a number
	tenth bool     // a number kept in tenths
	unit  string
	up    bool // a higher value is worse
}

var (
	noYes  = []string{"no", "yes"}
	attack = []string{"none", "slow", "yes"}
	bath   = []string{"yes", "caution", "no"}
)

var scales = [attributes]scale{
	hardness:  {name: "hardness", tenth: true, unit: "Mohs"},
	toughness: {name: "toughness", words: []string{"poor", "fair", "good", "excellent", "exceptional"}},
	cleavage: {name: "cleavage", words: []string{"none", "indistinct", "poor", "distinct", "good", "perfect"},
		up: true},
	directions:      {name: "directions", up: true},
	light:           {name: "light", words: []string{"stable", "low", "medium", "high"}, up: true},
	heat:            {name: "heat", words: []string{"never", "low", "moderate", "high"}},
	acid:            {name: "acid", words: attack, up: true},
	alkali:          {name: "alkali", words: attack, up: true},
	solvent:         {name: "solvent", words: attack, up: true},
	ultrasonicBath:  {name: "ultrasonic_bath", words: bath, up: true},
	steamBath:       {name: "steam_bath", words: bath, up: true},
	porous:          {name: "porous", words: noYes, up: true},
	dries:           {name: "dries", words: noYes, up: true},
	fluoride:        {name: "fluoride", words: noYes, up: true},
	fills:           {name: "fills", words: []string{"none", "oil", "resin", "glass"}, up: true},
	coated:          {name: "coated", words: noYes, up: true},
	dyed:            {name: "dyed", words: noYes, up: true},
	assembled:       {name: "assembled", words: noYes, up: true},
	fractures:       {name: "fractures", words: []string{"none", "inner", "open"}, up: true},
	liquid:          {name: "liquid", words: noYes, up: true},
	points:          {name: "points", words: []string{"none", "corners", "points"}, up: true},
	length:          {name: "length", tenth: true, unit: "mm", up: true},
	slender:         {name: "slender", tenth: true, unit: "length/width", up: true},
	thinGirdle:      {name: "thin_girdle", words: noYes, up: true},
	harderNeighbour: {name: "harder_neighbour", tenth: true, unit: "Mohs above this stone", up: true},
	pieceScore:      {name: "piece", unit: "of 3", up: true},
	impactScore:     {name: "impact", unit: "of 3", up: true},
	crownScore:      {name: "crown", unit: "of 3", up: true},
	rub:             {name: "rub", unit: "of 14", up: true},
	knocks:          {name: "knocks", unit: "of 14", up: true},
	cosmetics:       {name: "cosmetics", unit: "of 3", up: true},
	wear:            {name: "wear", words: []string{"evening", "occasional", "daily"}, up: true},
	girdleOpen:      {name: "girdle_open", words: []string{"covered", "part", "most", "open"}, up: true},
	closedBack:      {name: "closed_back", words: noYes, up: true},
	corners:         {name: "corners_open", words: noYes, up: true},
	force:           {name: "force", words: []string{"none", "light", "firm", "strong"}, up: true},
	sidePressure:    {name: "side_pressure", words: noYes, up: true},
	heatNear:        {name: "heat_near", words: noYes, up: true},
	torch:           {name: "torch", words: noYes, up: true},
	ultrasonic:      {name: "ultrasonic", words: noYes, up: true},
	steam:           {name: "steam", words: noYes, up: true},
	pickle:          {name: "pickle", words: noYes, up: true},
	plating:         {name: "plating", words: noYes, up: true},
	resize:          {name: "resize", words: noYes, up: true},
	dose:            {name: "dose", unit: "klx h a year", up: true},
	lux:             {name: "lux", unit: "lx", up: true},
	lampHeat:        {name: "lamp_heat", words: []string{"cool", "warm", "hot"}, up: true},
	uv:              {name: "uv_light", words: noYes, up: true},
}

// title is the attribute as a reader meets it.
func (s scale) title() string { return strings.ReplaceAll(s.name, "_", " ") }

// show renders a value in the words of its scale, without the unit.
func (s scale) show(v int32) string {
	switch {
	case v == unknown:
		return "unknown"
	case s.words != nil:
		if v < 0 || int(v) >= len(s.words) {
			return strconv.Itoa(int(v))
		}
		return s.words[v]
	case s.tenth:
		return strconv.FormatFloat(float64(v)/10, 'f', -1, 64)
	}
	return strconv.Itoa(int(v))
}

// read is the inverse of show; ok is false for a word that is not on the scale.
func (s scale) read(word string) (v int32, ok bool) {
	if word == "unknown" {
		return unknown, true
	}
	for i, w := range s.words {
		if w == word {
			return int32(i), true
		}
	}
	if s.words != nil {
		return 0, false
	}
	f, err := strconv.ParseFloat(word, 64)
	if err != nil || f < 0 || f > 1e6 {
		return 0, false
	}
	if s.tenth {
		f *= 10
	}
	return int32(math.Round(f)), true
}

// rank is the place of a word of facts on the scale; an empty or foreign word
// is unknown.
func rank[W ~string](a attribute, word W) int32 {
	if v, ok := scales[a].read(string(word)); ok && word != "" {
		return v
	}
	return unknown
}

// worse is the worse of two values of a; the known one when the other is unknown.
func (a attribute) worse(x, y int32) int32 {
	switch {
	case x == unknown:
		return y
	case y == unknown:
		return x
	case scales[a].up:
		return max(x, y)
	}
	return min(x, y)
}

// profile is a whole situation as the rules see it.
type profile [attributes]int32

func yesNo(yes bool) int32 {
	if yes {
		return 1
	}
	return 0
}
