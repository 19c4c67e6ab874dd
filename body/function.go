package body

// A Function is a joint function as it is named in results: what the muscles must
// deliver in that direction, N m (N for the shoulder girdle), positive as named.
type Function struct {
	Name  string     // with _r or _l where the joint has sides
	At    Coordinate // of Moments
	Sign  float64    // +1, or -1 where the name is the other way round
	Shift bool       // a force, N
}

// functions are the joint functions of the middle and of the right side
// (equation 14). This is the one place where signs are turned.
var functions = []Function{
	{"lumbar_extension", LumbarFlexion, -1, false},
	{"lumbar_bend_right", LumbarBend, 1, false},
	{"lumbar_twist_left", LumbarTwist, 1, false},
	{"hip_extension", HipFlexion, -1, false},
	{"hip_abduction", HipAbduction, 1, false},
	{"hip_external_rotation", HipRotation, 1, false},
	{"knee_extension", KneeFlexion, -1, false},
	{"ankle_plantarflexion", AnkleDorsiflexion, -1, false},
	{"ankle_inversion", FootInversion, 1, false},
	{"girdle_elevation", GirdleElevation, 1, true},
	{"girdle_protraction", GirdleProtraction, 1, true},
	{"shoulder_flexion", ShoulderFlexion, 1, false},
	{"shoulder_abduction", ShoulderAbduction, 1, false},
	{"shoulder_horizontal_adduction", ShoulderHorizontalAdduction, 1, false},
	{"elbow_flexion", ElbowFlexion, 1, false},
	{"forearm_supination", ForearmSupination, 1, false},
}

// Functions lists all joint functions: those of the middle, then right and left.
func Functions() []Function {
	var out []Function
	for side := range 2 {
		for _, f := range functions {
			switch {
			case f.At >= firstOfSide:
				f.Name, f.At = f.Name+sideSuffix[side], f.At.Of(side)
			case side == Left:
				continue
			}
			out = append(out, f)
		}
	}
	return out
}

// Named returns the moments by the names of joint functions.
func (m *Moments) Named() map[string]float64 {
	out := map[string]float64{}
	for _, f := range Functions() {
		out[f.Name] = f.Of(m)
	}
	return out
}

// Of reads one function from moments.
func (f *Function) Of(m *Moments) float64 { return f.Sign * m[f.At] }
