package unit

// StandardGravity is the standard acceleration of free fall, m/s².
// Source: 3rd General Conference on Weights and Measures, 1901 (key si-brochure).
const StandardGravity = 9.80665

// The SI quantities of computations.
type (
	Kilogram    float64 // mass, kg
	Newton      float64 // force, N
	NewtonMetre float64 // moment, N m
	Metre       float64 // length, m
	Radian      float64 // plane angle, rad
	Second      float64 // time, s
)

// Weight returns the force that standard gravity exerts on m, N.
func (m Kilogram) Weight() Newton { return Newton(float64(m) * StandardGravity) }
