package book

import "strings"

// ReadStored reads the lot from its stored form, several times as fast as
// encoding/json: of a large book, reading its lots is what takes the time. It
// says false, leaving the lot half read, when it meets what it does not expect,
// such as an escaped character: encoding/json then reads or refuses the lot.
func (l *Lot) ReadStored(doc []byte) bool {
	s := &scan{rest: string(doc)} // the lot's texts are parts of this one
	s.object(func(name string) {
		switch name {
		case "code":
			l.Code = s.text()
		case "kind":
			l.Kind = LotKind(s.text())
		case "label":
			l.Label = s.text()
		case "parcel":
			l.Parcel = s.text()
		case "parent":
			l.Parent = s.text()
		case "stone":
			l.Stone = s.text()
		case "tags":
			s.list(func() { l.Tags = append(l.Tags, s.text()) })
		case "owner":
			l.Owner = Owner(s.text())
		case "species":
			l.Species = s.text()
		case "variety":
			l.Variety = s.text()
		case "claim":
			l.Claim = s.text()
		case "facets":
			s.facets(&l.Facets)
		case "opinion":
			l.Opinion = &Opinion{}
			s.opinion(l.Opinion)
		case "shape":
			l.Shape = s.text()
		case "length":
			s.size(&l.Length)
		case "width":
			s.size(&l.Width)
		case "depth":
			s.size(&l.Depth)
		case "calibrated":
			l.Calibrated = s.flag()
		case "estimated":
			l.Estimated = s.flag()
		case "color":
			l.Color = s.text()
		case "clarity":
			l.Clarity = s.text()
		case "cut":
			l.Cut = s.text()
		case "agreed":
			s.check(l.Agreed.UnmarshalText([]byte(s.text())))
		case "foreign":
			l.Foreign = &ForeignPrice{}
			s.foreign(l.Foreign)
		case "prices":
			l.Prices = &Prices{}
			s.prices(l.Prices)
		case "due":
			l.Due = Date(s.text())
		case "fenced":
			l.Fenced = s.text()
		case "jewel":
			l.Jewel = &Jewel{}
			s.jewel(l.Jewel)
		case "damaged":
			l.Damaged = &Damage{}
			s.damage(l.Damaged)
		case "note":
			l.Note = s.text()
		default:
			s.bad = true
		}
	})
	return !s.bad && s.rest == ""
}

func (s *scan) facets(f *Facets) {
	s.object(func(name string) {
		switch name {
		case "species":
			s.facet(&f.Species)
		case "nature":
			s.facet(&f.Nature)
		case "treatment":
			s.facet(&f.Treatment)
		case "origin":
			s.facet(&f.Origin)
		default:
			s.bad = true
		}
	})
}

func (s *scan) facet(f *Facet) {
	s.object(func(name string) {
		switch name {
		case "value":
			f.Value = s.text()
		case "basis":
			s.check(f.Basis.UnmarshalText([]byte(s.text())))
		default:
			s.bad = true
		}
	})
}

func (s *scan) opinion(o *Opinion) {
	s.object(func(name string) {
		switch name {
		case "species":
			o.Species = s.text()
		case "variety":
			o.Variety = s.text()
		case "reason":
			o.Reason = s.text()
		case "who":
			o.Who = s.text()
		case "on":
			o.On = Date(s.text())
		default:
			s.bad = true
		}
	})
}

func (s *scan) jewel(j *Jewel) {
	s.object(func(name string) {
		switch name {
		case "is":
			j.Is = s.text()
		case "design":
			j.Design = s.text()
		case "metal":
			j.Metal = s.text()
		case "weight":
			s.check(j.Weight.UnmarshalText([]byte(s.text())))
		case "size":
			j.Size = s.text()
		case "since":
			j.Since = Date(s.text())
		default:
			s.bad = true
		}
	})
}

func (s *scan) damage(d *Damage) {
	s.object(func(name string) {
		switch name {
		case "reason":
			d.Reason = s.text()
		case "who":
			d.Who = s.text()
		case "on":
			d.On = Date(s.text())
		default:
			s.bad = true
		}
	})
}

func (s *scan) size(z *Size) {
	s.object(func(name string) {
		switch name {
		case "min":
			s.check(z.Min.UnmarshalText([]byte(s.text())))
		case "max":
			s.check(z.Max.UnmarshalText([]byte(s.text())))
		default:
			s.bad = true
		}
	})
}

func (s *scan) foreign(p *ForeignPrice) {
	s.object(func(name string) {
		switch name {
		case "amount":
			s.check(p.Amount.UnmarshalText([]byte(s.text())))
		case "rate":
			s.check(p.Rate.UnmarshalText([]byte(s.text())))
		default:
			s.bad = true
		}
	})
}

func (s *scan) prices(p *Prices) {
	s.object(func(name string) {
		switch name {
		case "ask":
			s.check(p.Ask.UnmarshalText([]byte(s.text())))
		case "least":
			s.check(p.Least.UnmarshalText([]byte(s.text())))
		case "basis":
			p.Basis = PriceBasis(s.text())
		default:
			s.bad = true
		}
	})
}

// scan reads JSON as records are stored: without blanks. bad, once true, ends
// the reading.
type scan struct {
	rest string
	bad  bool
}

func (s *scan) check(err error) { s.bad = s.bad || err != nil }

// eat takes the next characters when they are these.
func (s *scan) eat(these string) (ate bool) {
	s.rest, ate = strings.CutPrefix(s.rest, these)
	return ate
}

// text reads a string without escapes.
func (s *scan) text() string {
	if !s.eat(`"`) {
		s.bad = true
		return ""
	}
	text, rest, closed := strings.Cut(s.rest, `"`)
	if !closed || strings.IndexByte(text, '\\') >= 0 {
		s.bad = true
		return ""
	}
	s.rest = rest
	return text
}

func (s *scan) flag() bool {
	if s.eat("true") {
		return true
	}
	s.bad = s.bad || !s.eat("false")
	return false
}

// object calls field for each name, to read its value.
func (s *scan) object(field func(name string)) {
	s.parts("{", "}", func() {
		name := s.text()
		s.bad = s.bad || !s.eat(":")
		field(name)
	})
}

// list calls element for each element, to read it.
func (s *scan) list(element func()) { s.parts("[", "]", element) }

func (s *scan) parts(open, shut string, part func()) {
	if s.bad = s.bad || !s.eat(open); s.eat(shut) {
		return
	}
	for !s.bad {
		part()
		if s.eat(shut) {
			return
		}
		s.bad = s.bad || !s.eat(",")
	}
}
