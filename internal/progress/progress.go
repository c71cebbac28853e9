// Package progress tells whoever asked for long work what it is doing.
package progress

import (
	"context"
	"fmt"
)

// listenerKey finds the listener of a context.
type listenerKey struct{}

// To returns a context in which long work tells listen what it is doing. listen
// may be called from any goroutine of the work.
func To(ctx context.Context, listen func(doing string)) context.Context {
	return context.WithValue(ctx, listenerKey{}, listen)
}

// Tell says what the work is doing now. It costs nothing where nobody listens.
func Tell(ctx context.Context, format string, args ...any) {
	if listen, ok := ctx.Value(listenerKey{}).(func(string)); ok {
		listen(fmt.Sprintf(format, args...))
	}
}
