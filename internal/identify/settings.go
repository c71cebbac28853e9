package identify

import "cmp"

// Settings are how carefully a verdict is drawn. The zero value is the default.
type Settings struct {
	K         float64 // readings farther than K standard uncertainties outside exclude; 0: 3
	PriorsOff bool    // count every material as equally likely beforehand
	Liquid    float64 // refractive index of the contact liquid; 0: 1.79

	// Standard uncertainties of the instruments; 0: the default.
	UCal    float64 // refractometer calibration, shared by all edges of a sitting; 0.0015
	URead   float64 // each edge; 0.001
	USpot   float64 // spot reading; 0.005
	USG     float64 // an SG given without its own; 0.02
	ULiquid float64 // SG of a heavy liquid; 0.01

	Balance float64      // resolution in ct of the user's balance, for advice; 0: 0.01
	Carats  float64      // weight of this stone, for advice on SG; 0: unknown
	Kit     []Instrument // for the next test
}

// The instruments' usual standard uncertainties, common practice: handbooks
// teach +/- 0.003 for a flat facet and +/- 0.01 to 0.02 for a spot reading.
func (s Settings) filled() Settings {
	s.K = cmp.Or(s.K, 3)
	s.Liquid = cmp.Or(s.Liquid, 1.79)
	s.UCal = cmp.Or(s.UCal, 0.0015)
	s.URead = cmp.Or(s.URead, 0.001)
	s.USpot = cmp.Or(s.USpot, 0.005)
	s.USG = cmp.Or(s.USG, 0.02)
	s.ULiquid = cmp.Or(s.ULiquid, 0.01)
	s.Balance = cmp.Or(s.Balance, 0.01)
	return s
}
