package book

import "lotpaper/internal/num"

// lotStored is a Lot that omits its unknown fields.
type lotStored struct {
	Code       string        `json:"code"`
	Kind       LotKind       `json:"kind,omitzero"`
	Label      string        `json:"label,omitzero"`
	Parcel     string        `json:"parcel,omitzero"`
	Parent     string        `json:"parent,omitzero"`
	Stone      string        `json:"stone,omitzero"`
	Tags       []string      `json:"tags,omitzero"`
	Owner      Owner         `json:"owner,omitzero"`
	Species    string        `json:"species,omitzero"`
	Variety    string        `json:"variety,omitzero"`
	Claim      string        `json:"claim,omitzero"`
	Facets     facetsStored  `json:"facets,omitzero"`
	Opinion    *Opinion      `json:"opinion,omitzero"`
	Shape      string        `json:"shape,omitzero"`
	Length     Size          `json:"length,omitzero"`
	Width      Size          `json:"width,omitzero"`
	Depth      Size          `json:"depth,omitzero"`
	Calibrated bool          `json:"calibrated,omitzero"`
	Estimated  bool          `json:"estimated,omitzero"`
	Color      string        `json:"color,omitzero"`
	Clarity    string        `json:"clarity,omitzero"`
	Cut        string        `json:"cut,omitzero"`
	Agreed     num.Money     `json:"agreed,omitzero"`
	Foreign    *ForeignPrice `json:"foreign,omitzero"`
	Prices     *Prices       `json:"prices,omitzero"`
	Due        Date          `json:"due,omitzero"`
	Fenced     string        `json:"fenced,omitzero"`
	Jewel      *Jewel        `json:"jewel,omitzero"`
	Damaged    *Damage       `json:"damaged,omitzero"`
	Note       string        `json:"note,omitzero"`
}

type facetsStored struct {
	Species   Facet `json:"species,omitzero"`
	Nature    Facet `json:"nature,omitzero"`
	Treatment Facet `json:"treatment,omitzero"`
	Origin    Facet `json:"origin,omitzero"`
}

// StoredForm is the lot without its unknown fields.
func (l Lot) StoredForm() any {
	return lotStored{
		Code:       l.Code,
		Kind:       l.Kind,
		Label:      l.Label,
		Parcel:     l.Parcel,
		Parent:     l.Parent,
		Stone:      l.Stone,
		Tags:       l.Tags,
		Owner:      l.Owner,
		Species:    l.Species,
		Variety:    l.Variety,
		Claim:      l.Claim,
		Facets:     facetsStored(l.Facets),
		Opinion:    l.Opinion,
		Shape:      l.Shape,
		Length:     l.Length,
		Width:      l.Width,
		Depth:      l.Depth,
		Calibrated: l.Calibrated,
		Estimated:  l.Estimated,
		Color:      l.Color,
		Clarity:    l.Clarity,
		Cut:        l.Cut,
		Agreed:     l.Agreed,
		Foreign:    l.Foreign,
		Prices:     l.Prices,
		Due:        l.Due,
		Fenced:     l.Fenced,
		Jewel:      l.Jewel,
		Damaged:    l.Damaged,
		Note:       l.Note,
	}
}
