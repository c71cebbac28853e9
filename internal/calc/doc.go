// Package calc answers what a dealer works out beside the book: weights, recuts,
// gravities, alloys, waxes, rings, shares, margins, samples, light and angles.
// It opens no book and keeps nothing. Each calculator takes one request and waits
// for nothing, so it is a plain function without a context.
package calc
