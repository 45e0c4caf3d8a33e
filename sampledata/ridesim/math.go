package ridesim

// clamp limits v to ±limit.
func clamp(v, limit float64) float64 { return max(-limit, min(limit, v)) }

// smoothstep rises from 0 at u ≤ 0 to 1 at u ≥ 1 with level ends: 3u² − 2u³.
func smoothstep(u float64) float64 {
	u = max(0, min(1, u))
	return u * u * (3 - 2*u)
}

// hermite is the cubic through a and b with derivatives da and db (per unit of u).
func hermite(a, b, da, db, u float64) float64 {
	return a + u*(da+u*(3*(b-a)-2*da-db+u*(da+db-2*(b-a))))
}
