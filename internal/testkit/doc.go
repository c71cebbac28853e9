// Package testkit holds what tests share: a fixed clock, golden files, and the
// seeded generator of big books. Only tests and benchmarks import it.
package testkit
