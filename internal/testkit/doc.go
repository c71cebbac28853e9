// Package testkit holds what tests share: a fixed clock, the place of test data
// and the -update flag, and the seeded generator of big books. Only tests and
// benchmarks import it.
package testkit
