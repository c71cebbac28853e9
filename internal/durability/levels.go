package durability

// LevelsOf returns the three levels of Judge without its findings and words, for
// advice that tries many changes.
func LevelsOf(s Situation) Levels {
	b, t := book(), tables()
	var p profile
	t.stone(&p, &s.Stone, nil)
	t.position(&p, &s.Position, nil)
	benchSteps(&p, s.Bench, nil)
	t.display(&p, s.Display, nil)
	return b.levels(b.fired(&p, 0, attributes))
}
