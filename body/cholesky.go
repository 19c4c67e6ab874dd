package body

import "math"

// factor replaces the lower triangle of the symmetric n x n matrix m, stored by
// rows, by its Cholesky factor. It reports false where m is not positive definite.
func factor(m []float64, n int) bool {
	for j := range n {
		row := m[j*n : j*n+j+1]
		d := row[j]
		for _, v := range row[:j] {
			d -= v * v
		}
		if !(d > 0) {
			return false
		}
		d = math.Sqrt(d)
		row[j] = d
		for i := j + 1; i < n; i++ {
			below := m[i*n : i*n+j+1]
			s := below[j]
			for k, v := range row[:j] {
				s -= below[k] * v
			}
			below[j] = s / d
		}
	}
	return true
}

// backSolve solves m x = b in place for a matrix that [factor] has replaced.
func backSolve(m []float64, n int, b []float64) {
	for i := range n {
		s := b[i]
		for k, v := range m[i*n : i*n+i] {
			s -= v * b[k]
		}
		b[i] = s / m[i*n+i]
	}
	for i := n - 1; i >= 0; i-- {
		s := b[i]
		for k := i + 1; k < n; k++ {
			s -= m[k*n+i] * b[k]
		}
		b[i] = s / m[i*n+i]
	}
}
