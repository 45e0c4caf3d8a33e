package trail

import "math"

// times is m·x.
func (m *alongMatrix) times(x *alongVector) (out alongVector) {
	for i := range m {
		for j := range x {
			out[i] += m[i][j] * x[j]
		}
	}
	return out
}

// product is m·b.
func (m *alongMatrix) product(b *alongMatrix) (out alongMatrix) {
	for i := range m {
		for k := range b {
			if f := m[i][k]; f != 0 {
				for j := range b {
					out[i][j] += f * b[k][j]
				}
			}
		}
	}
	return out
}

func (m alongMatrix) transposed() (out alongMatrix) {
	for i := range m {
		for j := range m {
			out[j][i] = m[i][j]
		}
	}
	return out
}

// around is m·p·mᵀ of a symmetric p, symmetric to the last bit.
func (m *alongMatrix) around(p *alongMatrix) alongMatrix {
	mp := m.product(p)
	mt := m.transposed()
	out := mp.product(&mt)
	for i := range out {
		for j := range i {
			mean := (out[i][j] + out[j][i]) / 2
			out[i][j], out[j][i] = mean, mean
		}
	}
	return out
}

// solve finds x of m·x = b for a symmetric positive definite m (Cholesky, with the diagonal of m scaled to one).
func (m *alongMatrix) solve(b *alongMatrix) (x alongMatrix) {
	var c alongMatrix
	var scale alongVector
	for i := range m {
		scale[i] = 1 / math.Sqrt(max(m[i][i], 1e-30))
	}
	for i := range m {
		for j := 0; j <= i; j++ {
			v := m[i][j] * scale[i] * scale[j]
			for k := range j {
				v -= c[i][k] * c[j][k]
			}
			if i == j {
				c[i][i] = math.Sqrt(max(v, 1e-14))
			} else {
				c[i][j] = v / c[j][j]
			}
		}
	}
	for col := range b {
		var y alongVector
		for i := range m {
			v := b[i][col] * scale[i]
			for k := range i {
				v -= c[i][k] * y[k]
			}
			y[i] = v / c[i][i]
		}
		for i := alongN - 1; i >= 0; i-- {
			v := y[i]
			for k := i + 1; k < alongN; k++ {
				v -= c[k][i] * y[k]
			}
			y[i] = v / c[i][i]
			x[i][col] = y[i] * scale[i]
		}
	}
	return x
}
