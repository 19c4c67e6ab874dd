package body

// A Coordinate is one of the numbers that describe a posture. Angles are in
// radians, lengths in metres. All are 0 in upright standing with the arms
// hanging and the thumbs forward, the pelvis above the origin of the floor.
//
// World axes: X forward, Y up, Z to the client's right (ISB). A coordinate of
// the left side has the same sign as the right one in a mirrored posture.
type Coordinate int

// The pelvis in the world, and the trunk upon it.
const (
	PelvisX       Coordinate = iota // m, forward
	PelvisY                         // m, up; the midpoint of the hip centres
	PelvisZ                         // m, to the right
	PelvisTilt                      // forward tilt of the pelvis
	PelvisRoll                      // right side of the pelvis down
	PelvisYaw                       // turn to the left, about the vertical
	LumbarFlexion                   // trunk on pelvis, forward
	LumbarBend                      // to the right
	LumbarTwist                     // to the left

	// The coordinates of one side follow from here, first right, then left.
	firstOfSide
)

// The coordinates of the right side; Of gives those of a side.
const (
	HipFlexion Coordinate = firstOfSide + iota
	HipAbduction
	HipRotation // external
	KneeFlexion
	AnkleDorsiflexion
	FootInversion
	GirdleElevation   // m
	GirdleProtraction // m
	ArmPlane          // plane of elevation: 0 sideways, pi/2 forward
	ArmElevation      // 0 hanging
	ArmRotation       // external
	ElbowFlexion
	ForearmSupination

	lastOfSide
)

// sideCoordinates counts the coordinates of one side, Coordinates all.
const (
	sideCoordinates = lastOfSide - firstOfSide
	Coordinates     = int(firstOfSide + 2*sideCoordinates)
)

// What muscles must deliver beside the moments of the coordinates, of the right
// side; Of gives those of a side. They stand behind the coordinates in [Moments].
const (
	ClavicleElevation   = Coordinate(Coordinates) + iota // N m about the sternoclavicular joint, the shoulder up
	ClavicleProtraction                                  // N m about the same, the shoulder forward
	ScapulaRotation                                      // N m about the acromioclavicular joint, the socket up
	HandGrip                                             // N, of the closed hand

	lastMoment
)

// MomentCount counts the entries of [Moments].
const (
	sideMoments = lastMoment - Coordinate(Coordinates)
	MomentCount = Coordinates + 2*int(sideMoments)
)

// Of gives the coordinate of the side; one that has no side is given back.
func (c Coordinate) Of(s int) Coordinate {
	switch {
	case c < firstOfSide:
		return c
	case c >= Coordinate(Coordinates):
		return (c-Coordinate(Coordinates))%sideMoments + Coordinate(Coordinates) + Coordinate(s)*sideMoments
	}
	return (c-firstOfSide)%sideCoordinates + firstOfSide + Coordinate(s)*sideCoordinates
}

// Right and Left index whatever the body has on two sides.
const (
	Right = 0
	Left  = 1
)

// Q holds a posture: one value for each coordinate.
type Q [Coordinates]float64
