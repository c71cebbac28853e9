package durability

// LevelsOf returns the three levels of Judge without its findings and words, for
// advice that tries many changes.
func LevelsOf(s Situation) Levels {
	return gradesOf(s).Levels
}
