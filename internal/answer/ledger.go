package answer

import "lotpaper/internal/ledger"

// LedgerShow lists entries with their postings, oldest first.
type LedgerShow struct {
	Entries []ledger.Entry `json:"entries"`
}

// Backup is a copy of the book and the head that seals what it holds.
type Backup struct {
	File    string `json:"file"`
	Entries int64  `json:"entries"`
	Head    string `json:"head"`
}
