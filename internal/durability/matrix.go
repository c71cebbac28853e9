package durability

// Grid is the setting verdict of many stones in many positions: Level[i][j] of
// stone i in position j. The rows share one backing array.
type Grid struct {
	Level [][]Level
}

// Matrix judges every stone in every position, headline only. It gives exactly
// what Judge gives, without the words: a rule fires when the stone's facts and
// the position's facts both leave it standing, so each stone and each position
// is reduced to a set of rules once, and a pair costs one intersection.
func Matrix(stones []Stone, positions []Position) Grid {
	b, t := book(), tables()
	at := make([]set, len(positions))
	for j := range positions {
		var p profile
		t.position(&p, &positions[j], nil)
		benchSteps(&p, nil, nil)
		at[j] = b.fired(&p, pieceScore, dose)
	}
	cells := make([]Level, len(stones)*len(positions))
	g := Grid{Level: make([][]Level, len(stones))}
	for i := range stones {
		row := cells[i*len(positions) : (i+1)*len(positions)]
		g.Level[i] = row
		b.row(t, &stones[i], at, row)
	}
	return g
}

// row judges one stone in every position.
func (b *rulebook) row(t *ruleTables, s *Stone, at []set, row []Level) {
	var p profile
	t.stone(&p, s, nil)
	left := b.fired(&p, 0, pieceScore)
	for j := range at {
		both := left.and(at[j])
		row[j] = b.worst(&both, &b.of[0])
	}
}

// LevelsOf gives the three levels of Judge, without findings and without
// allocating for the position: for plans that ask about very many pairs.
func LevelsOf(s Situation) Levels {
	b, t := book(), tables()
	var p profile
	t.stone(&p, &s.Stone, nil)
	t.position(&p, &s.Position, nil)
	benchSteps(&p, s.Bench, nil)
	t.display(&p, s.Display, nil)
	return b.levels(b.fired(&p, 0, attributes))
}
