package csvtable

import (
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"
)

func TestRead(t *testing.T) {
	files := fstest.MapFS{
		"good.csv":   {Data: []byte("id,words\na,\" one, two \"\n b ,\n")},
		"bare.csv":   {Data: []byte("id,words\n")},
		"empty.csv":  {},
		"ragged.csv": {Data: []byte("id,words\na\n")},
		"twice.csv":  {Data: []byte("id,id\na,b\n")},
	}
	rows, err := Read(files, "good.csv")
	if diff := cmp.Diff([]map[string]string{{"id": "a", "words": "one, two"}, {"id": "b", "words": ""}},
		rows); diff != "" || err != nil {
		t.Errorf("%v (-want +got):\n%s", err, diff)
	}
	for _, name := range []string{"bare.csv", "empty.csv", "ragged.csv", "twice.csv", "missing.csv"} {
		if rows, err := Read(files, name); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("%s: %v, %v", name, rows, err)
		}
	}
}
