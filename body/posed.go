package body

// BalanceGive is the give of the six rows that keep the whole body in balance
// while free forces shift, N squared and N m squared (our judgement: a hundredth
// of a newton).
const BalanceGive = 1e-4

// muscleCoordinates are the coordinates muscles of [Muscles] act on, of the middle
// and of one side.
var muscleCoordinates = []Coordinate{LumbarFlexion, LumbarBend, LumbarTwist,
	HipFlexion, HipAbduction, HipRotation, KneeFlexion, AnkleDorsiflexion, FootInversion}

// upperCoordinates are those of girdle, arm and hand.
var upperCoordinates = []Coordinate{ShoulderAbduction, ShoulderHorizontalAdduction, ShoulderFlexion, ElbowFlexion,
	ForearmSupination, ClavicleElevation, ClavicleProtraction, ScapulaRotation, HandGrip}

// Arms says what the hands do in a posture: it decides which rows of arms there are.
type Arms int

// What hands may do.
const (
	ArmsIdle  Arms = iota // they carry their own weight only: no rows
	ArmsFree              // each holds something of its own
	ArmsOnBar             // they hold one thing or a fixed one, which takes the turn of the forearm
)

// balanceCoordinates are those of the pelvis in the world: no muscle acts on them.
var balanceCoordinates = []Coordinate{PelvisX, PelvisY, PelvisZ, PelvisTilt, PelvisRoll, PelvisYaw}

// Posed is a posture ready for load sharing: rows for what the joints need, and
// the muscles of both sides.
type Posed struct {
	*Program
	Rows    Rows
	First   int     // column of the first muscle: those of the right side, then of the left
	Passive Moments // N m, already taken from what muscles must deliver
}

// Pose builds the program of a posture. Need is what must be delivered at each
// coordinate without load, and spread what one unit of load adds, N m in the sense
// in which the coordinate grows; only the entries of joints that have muscles are
// read. Passive moments are taken off and passive bands added. Where contact
// forces are to be free, balance adds a row for each coordinate of the pelvis.
func (s *Strength) Pose(q *Q, need, spread Moments, balance bool, arms Arms) *Posed {
	p := &Posed{Program: NewProgram(), Rows: NoRows(), Passive: Passive(q, s.Mass, s.Height)}
	for _, c := range muscleCoordinates {
		for side := range 2 {
			at := c.Of(side)
			if p.Rows[at] < 0 { // the trunk has one side
				p.Rows[at] = p.AddRow(need[at]-p.Passive[at], spread[at], RowGive)
			}
		}
	}
	if arms != ArmsIdle {
		for _, c := range upperCoordinates {
			for side := range 2 {
				if c == ForearmSupination && arms == ArmsOnBar {
					continue
				}
				at := c.Of(side)
				p.Rows[at] = p.AddRow(need[at]-p.Passive[at], spread[at], RowGive)
			}
		}
	}
	if balance {
		for _, c := range balanceCoordinates {
			p.Rows[c] = p.AddRow(0, 0, BalanceGive)
		}
	}
	p.First = s.AddMuscles(p.Program, &p.Rows, q)
	s.AddBands(p.Program, &p.Rows)
	if arms != ArmsIdle {
		s.addArmBands(p, q)
	}
	return p
}

// Free adds a force that may differ from the one the needs were computed with, by
// x between low and high: effect is what x = 1 adds to what muscles must deliver,
// price its cost (price x²/2). Infinite bounds are allowed.
// Rows of the caller's own may be given with what x = 1 adds to them.
func (p *Posed) Free(effect Moments, price, low, high float64, own ...Entry) int {
	entries := own
	for c, row := range p.Rows {
		if row >= 0 && effect[c] != 0 {
			entries = append(entries, Entry{row, -effect[c]})
		}
	}
	return p.AddForce(price, low, high, entries...)
}

// Muscle gives the column of a muscle of a side.
func (p *Posed) Muscle(number, side int) int { return p.First + side*len(Muscles()) + number }

// Tie adds the soft rows of common drive and bracing; for load sharing, not for
// the largest load.
func (p *Posed) Tie() { AddTies(p.Program, p.First) }
