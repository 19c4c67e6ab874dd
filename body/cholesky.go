package body

import "math"

// factor replaces the lower triangle of the symmetric n x n matrix m, stored by
// rows, by its Cholesky factor. It reports false where m is not positive definite.
func factor(m []float64, n int) bool {
	for j := range n {
		row := m[j*n : j*n+j+1]
		d := row[j] - dotProduct(row[:j], row[:j])
		if !(d > 0) {
			return false
		}
		d = math.Sqrt(d)
		row[j] = d
		for i := j + 1; i < n; i++ {
			below := m[i*n : i*n+j+1]
			below[j] = (below[j] - dotProduct(row[:j], below[:j])) / d
		}
	}
	return true
}

// backSolve solves m x = b in place for a matrix that [factor] has replaced.
func backSolve(m []float64, n int, b []float64) {
	for i := range n {
		b[i] = (b[i] - dotProduct(m[i*n:i*n+i], b[:i])) / m[i*n+i]
	}
	for i := n - 1; i >= 0; i-- {
		b[i] /= m[i*n+i]
		for k, v := range m[i*n : i*n+i] {
			b[k] -= v * b[i]
		}
	}
}

// dotProduct is the inner product of two slices of one length. Four sums run side
// by side, because one would wait for each addition.
func dotProduct(a, b []float64) float64 {
	var s0, s1, s2, s3 float64
	b = b[:len(a)]
	for len(a) >= 4 {
		s0 += a[0] * b[0]
		s1 += a[1] * b[1]
		s2 += a[2] * b[2]
		s3 += a[3] * b[3]
		a, b = a[4:], b[4:]
	}
	for i, v := range a {
		s0 += v * b[i]
	}
	return (s0 + s1) + (s2 + s3)
}
