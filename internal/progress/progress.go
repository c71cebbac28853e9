package desk

import (
	"context"
	"fmt"
)

// progressKey finds the listener of a context.
type progressKey struct{}

// WithProgress returns a context in which long work tells listen what it is
// doing. listen may be called from any goroutine of the work.
func WithProgress(ctx context.Context, listen func(doing string)) context.Context {
	return context.WithValue(ctx, progressKey{}, listen)
}

// Doing tells whoever asked for the work what it is doing now. It costs nothing
// where nobody listens.
func Doing(ctx context.Context, format string, args ...any) {
	if listen, ok := ctx.Value(progressKey{}).(func(string)); ok {
		listen(fmt.Sprintf(format, args...))
	}
}
