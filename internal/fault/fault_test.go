package fault

import (
	"errors"
	"fmt"
	"strings"
	"testing"
)

func TestText(t *testing.T) {
	f := New(Invalid, "weight-negative", "weight must be more than 0, but is -1.20",
		"enter the net weight as a positive number, e.g. 1.20").
		At(Where{File: "stock.xlsx", Sheet: "Lots", Row: 14, Column: "F", Header: "Weight"})
	want := `error: weight must be more than 0, but is -1.20
  where: stock.xlsx, sheet "Lots", row 14, column F "Weight"
  mend:  enter the net weight as a positive number, e.g. 1.20  [weight-negative]
`
	if got := f.Text(Form{}); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

func TestFromAndKind(t *testing.T) {
	f := New(Refused, "x", "what", "mend")
	wrapped := fmt.Errorf("sort lot: %w", List{f.AsWarning(), f})
	l, ok := From(wrapped)
	if !ok || len(l) != 2 {
		t.Fatalf("From = %v, %v", l, ok)
	}
	if KindOf(wrapped) != Refused {
		t.Errorf("KindOf = %q", KindOf(wrapped))
	}
	if _, ok := From(errors.New("disk")); ok {
		t.Error("an ordinary error is no fault")
	}
	if (List{f.AsWarning()}).Err() != nil {
		t.Error("warnings block")
	}
}

func TestNear(t *testing.T) {
	known := []string{"topaz", "tourmaline", "spodumene", "spinel", "iolite"}
	for _, c := range []struct{ in, want string }{
		{"topas", "topaz"}, {"Tourmalin", "tourmaline"}, {"spodumeen", "spodumene"}, {"iloite", "iolite"},
		{"granite", ""}, {"", ""},
	} {
		if got := strings.Join(Near(c.in, known), ","); got != c.want {
			t.Errorf("Near(%q) = %q, want %q", c.in, got, c.want)
		}
	}
}
