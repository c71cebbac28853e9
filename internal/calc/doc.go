// Package calc answers what a dealer works out beside the book: weights, recuts,
// gravities, alloys, waxes, rings, shares, margins, samples, light and angles.
// It opens no book and keeps nothing.
package calc
