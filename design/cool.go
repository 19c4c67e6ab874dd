package design

import "math/bits"

// The search accepts a loss by the rule of Metropolis, exp(-loss/T) > u, turned
// round into loss < T (-ln u), with -ln u from a table of whole numbers, so that
// every processor decides alike. docs/model/08-design.md (5), (6).

// Sizes of the tables.
const (
	chances   = 4096 // values of u
	oneBits   = 10   // -ln u is in 1/1024
	coolSteps = 64   // temperatures from hot to cold
)

// Temperatures, 1/1000 point, and what one is of the one before, 1/2^32, so that 64
// steps go from hot to cold (our judgement, after trials; key judgement).
const (
	hot  = 1200
	cold = 120
)

// ln2 is ln 2 in 1/2^32.
const ln2 = 2_977_044_472

// losses holds -ln((i + 1/2)/4096) in 1/1024.
var losses = func() (out [chances]int64) {
	for i := range out {
		out[i] = minusLn(uint64(2*i+1), 13)
	}
	return out
}()

// minusLn returns -ln(x/2^shift) in 1/1024, for 0 < x <= 2^shift, by squaring a
// fixed-point number 32 times for 32 binary places of its logarithm.
func minusLn(x uint64, shift int) int64 {
	whole := bits.Len64(x) - 1
	m := x << (62 - whole) // 1 <= m/2^62 < 2
	fraction := uint64(0)
	for range 32 {
		hi, lo := bits.Mul64(m, m)
		m = hi<<2 | lo>>62 // square, 62 binary places
		fraction <<= 1
		if m >= 1<<63 {
			m >>= 1
			fraction |= 1
		}
	}
	log2 := int64(shift-whole)<<32 - int64(fraction) // -log2(x/2^shift), 1/2^32
	hi, lo := bits.Mul64(uint64(log2), ln2)
	ln := hi<<32 | lo>>32 // 1/2^32
	return int64(ln >> (32 - oneBits))
}

// temperatures are those of one cooling, 1/1000 point times 1024, falling by the
// same ratio from hot to cold.
func temperatures(from, to int64) (out [coolSteps]int64) {
	// The ratio is found by halving: the largest 1/2^32 that ends no higher than to.
	low, high := uint64(0), uint64(1)<<32
	end := func(r uint64) uint64 {
		x := uint64(from) << oneBits
		for range coolSteps - 1 {
			hi, lo := bits.Mul64(x, r)
			x = hi<<32 | lo>>32
		}
		return x
	}
	for high-low > 1 {
		if mid := (low + high) / 2; end(mid) > uint64(to)<<oneBits {
			high = mid
		} else {
			low = mid
		}
	}
	x := uint64(from) << oneBits
	for i := range out {
		out[i] = int64(x)
		hi, lo := bits.Mul64(x, low)
		x = hi<<32 | lo>>32
	}
	return out
}

// A dice is a permuted congruential generator of 64 bits of state and 32 of output
// (O'Neill 2014, form XSH-RR, constants from memory; key oneill-2014).
type dice struct{ state uint64 }

func newDice(seed uint64) *dice {
	d := &dice{}
	d.next()
	d.state += seed
	d.next()
	return d
}

func (d *dice) next() uint32 {
	old := d.state
	d.state = old*6364136223846793005 + 1442695040888963407
	return bits.RotateLeft32(uint32((old>>18^old)>>27), -int(old>>59))
}

// below returns a number from 0 to n-1, n over 0.
func (d *dice) below(n int) int { return int(uint64(d.next()) * uint64(n) >> 32) }
