package desk_test

import (
	"testing"

	"lotpaper/internal/desk"
	"lotpaper/internal/progress"
	"lotpaper/internal/testkit/books"
)

// Whoever asks for the work hears what it is doing.
func TestImport_TellsProgress(t *testing.T) {
	var heard []string
	ctx := progress.To(t.Context(), func(doing string) { heard = append(heard, doing) })
	a := books.New(t)
	_, err := a.Desk.PricesImport(ctx, desk.PricesImport{Write: books.Who, File: books.Text("p.csv", books.Prices)})
	if err != nil || len(heard) != 1 || heard[0] != "writing 2 rows" {
		t.Errorf("heard %q, %v", heard, err)
	}
}
