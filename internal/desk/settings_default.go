package desk

// DefaultConfig is the settings of a book that changed none.
func DefaultConfig() Config {
	var c Config
	for _, s := range settings() {
		if f := s.read(&c, s.fallback); f != nil {
			panic("app: the default of " + s.key + ": " + f.Error()) // a slip in the table above
		}
	}
	return c
}
