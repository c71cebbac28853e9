package facts

import (
	"crypto/sha256"
	"encoding/hex"
	"io/fs"
	"sync"

	"lotpaper/data"
)

// Version names the state of all embedded tables: the first 12 hexadecimal
// digits of the SHA-256 over their names and contents, in the order of the
// names. Verdicts that are frozen in documents carry it.
func Version() string { return version() }

var version = sync.OnceValue(func() string {
	h := sha256.New()
	entries, err := fs.ReadDir(data.FS, ".")
	if err != nil {
		panic("facts: " + err.Error())
	}
	for _, e := range entries {
		raw, err := fs.ReadFile(data.FS, e.Name())
		if err != nil {
			panic("facts: " + err.Error())
		}
		h.Write([]byte(e.Name()))
		h.Write([]byte{0})
		h.Write(raw)
		h.Write([]byte{0})
	}
	return hex.EncodeToString(h.Sum(nil))[:12]
})
