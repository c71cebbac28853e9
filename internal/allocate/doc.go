// Package allocate decides which item goes into which position of which
// design so that the pieces made earn the most, and proves how far from the
// best the answer can be. It knows nothing of stones: items have capacities,
// designs have values and quantities, positions have entries with costs. All
// amounts are int64 minor units of one currency.
//
// # Model
//
//	max  sum_d (V_d y_d - F_d [y_d > 0]) - sum c_e x_e - sum c_f z_f - sum c_s w_s
//	item i:        sum x + (ends of z at i) + sum w <= C_i
//	single p of d: sum_e x_e = k_p y_d           (k_p stones a piece, not matched)
//	pair p of d:   sum_f z_f = y_d
//	suite p of d:  sum_r u_r = y_d               (r: reference stones)
//	slot t of r:   sum_s w_s = K_t u_r
//	0 <= y_d <= q_d; y, z, u, x, w whole numbers
//
// F_d is what making any of design d costs once. With y, z and u fixed the rest is a transport problem, so x and w are
// whole
// by themselves.
//
// # Bound
//
// Give every position p a price rho_p (what a piece pays to have p filled; for
// a single position k_p times its price per stone, m_g), every suite slot t of
// a reference r a price m_g per stone, and every item a rent pi_i >= 0. For
// any such prices let
//
//	A_i = max(0, pi_i, max over entries e of item i of m_g(e) - c_e)
//
//	UB = sum_i C_i A_i
//	   + sum_f U_f max(0, rho_p - c_f - A_a - A_b)          pair edges f = (a, b)
//	   + sum_r U_r max(0, rho_p - sum_t K_t m_t)            references r
//	   + sum_d max over y in [L_d, Q_d] of y (V_d - sum_p rho_p) - F_d [y > 0]
//
// where U_f, U_r and Q_d are any numbers that no plan exceeds (and L_d one that
// no plan under consideration undercuts; 0 except inside the tree search).
//
// Proof. Take a feasible plan. Add and subtract the price of each fill:
//
//	value = sum_d (y_d (V_d - sum_p rho_p) - F_d [y_d > 0])
//	      + sum_{x} (m - c_e) x_e
//	      + sum_{z} (rho_p - c_f) z_f
//	      + sum_{u} (rho_p - sum_t K_t m_t) u_r + sum_{w} (m - c_s) w_s
//
// because a single position receives k_p y_d stones, a pair position y_d edges,
// a suite position y_d references and a slot K_t u_r stones. The first term is
// at most the last line of UB. Each (m - c_e) x_e and (m - c_s) w_s is at most
// A_i x_e, A_i w_s. Each (rho_p - c_f) z_f is at most
// (max(0, rho_p - c_f - A_a - A_b) + A_a + A_b) z_f, and z_f <= U_f bounds the
// first part. Each (rho_p - sum K m) u_r is at most U_r max(0, .). What is left
// of item i is A_i times the number of its uses, an edge whose ends are the
// same item counting twice; uses are at most C_i and A_i >= 0, so it is at most
// C_i A_i. Adding up gives UB. QED.
//
// An item of capacity C is C identical items: the proof with C = 1 for each of
// them gives the same term C A_i, and identical rents lose nothing because the
// bound is convex in the rents and symmetric in the copies.
//
// The last line is 0 or Q_d (V_d - sum rho) - F_d where L_d is 0: F_d is spread
// over Q_d pieces, as the linear programs do. A part of the plans in which some
// pieces must be made (L_d > 0) pays F_d for certain.
//
// Cuts (cuts.go) are further inequalities sum a x <= b that every plan obeys.
// With a price s >= 0 each, b s is added to UB and a s is taken off what a
// piece or the use of an entry, an edge or a reference gains above: for a
// feasible plan s (b - sum a x) >= 0, so UB stays a bound. Some are rounded sums
// of the rows above (gomory.go), in whole numbers throughout. They, and what
// numbers a plan may have (tighten), hold for plans that are worth more than the
// best one known when they were made; UB is then a bound on those, and the larger
// of it and that plan's value is one on all.
//
// # Search
//
// Subgradient steps find the prices (dual.go), and start again with other steps
// where a wide gap is left. Plans are built at them (construct.go) and improved
// by changing the numbers of pieces, with the entries kept cheapest by shortest
// paths (flow.go, paths.go, search.go, ruin.go). Up to some thousand items
// linear programs follow (simplex.go, relax.go): they start from a basis of the
// columns that come nearest to paying for themselves at the prices (crash.go),
// and go on with cuts, a dive (dive.go) and a best-first tree (branch.go). Work
// counts the steps, so the answer depends on the input and the seed alone. A
// first plan is made whatever the limits; only a plan that passes its check is
// kept.
//
// The bound holds for the problem as given: pairs and suites that the caller
// left out of it are not in it. Pairs may be given as further edges instead, too
// many for the search: their terms are added once, at the end, and that bound
// (BoundAll) holds for plans with them as well (further.go). Q_d counts their
// items from the beginning, and odd sets limit them like the other edges.
//
// The prices are found in floating point, then rounded to whole fractions of a
// minor unit, and UB is evaluated in integers: no rounding error can make the
// bound false, and the answer does not depend on the processor.
package allocate
