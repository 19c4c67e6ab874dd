package body

// A constant is a number of the model that rests on a source or on judgement.
type constant struct {
	id    string // in the code
	name  string // in words
	value float64
	unit  string
	key   string // of docs/sources.md
}

// constants lists the free constants that stand in no table: all numbers of this
// package but those of solvers and tables, as a test holds.
func constants() (all []constant) {
	for _, group := range [][]constant{muscleConstants(), sharingConstants(), passiveConstants(), girdleConstants(), contactConstants(), postureConstants(), askedConstants(), drawnConstants()} {
		all = append(all, group...)
	}
	return all
}

func muscleConstants() []constant {
	return []constant{
		{"ReferenceHeight", "reference height", ReferenceHeight, "m", "rajagopal-2016"},
		{"ReferenceMass", "reference mass", ReferenceMass, "kg", "rajagopal-2016"},
		{"lengthWidth", "force-length width", lengthWidth, "1", "rajagopal-2016"},
		{"shortFloor", "force-length floor, short", shortFloor, "1", "judgement"},
		{"longFloor", "force-length floor, long", longFloor, "1", "judgement"},
		{"armPlateau", "arm: full force this far from the best length", armPlateau, "1", "judgement"},
		{"armWidth", "arm: force-length width", armWidth, "1", "judgement"},
		{"armLong", "arm: length from which stretched tissue makes up", armLong, "1", "judgement"},
		{"elbowMiddle", "elbow angle of the best lengths", elbowMiddle / degree, "deg", "judgement"},
		{"sharedKnee", "knee flexion to which extensor arms are those of the model", sharedKnee / degree, "deg", "knee-extensor-arm"},
		{"LevelUntrained", "level, untrained", LevelUntrained, "ln", "judgement"},
		{"LevelSomeTraining", "level, some training", LevelSomeTraining, "ln", "judgement"},
		{"LevelTrained", "level, trained", LevelTrained, "ln", "judgement"},
		{"LevelSD", "level, SD", LevelSD, "ln", "judgement"},
		{"DeviationSD", "deviation of a function, SD", DeviationSD, "ln", "judgement"},
		{"ModelSpread", "lifts about the model, SD", ModelSpread, "ln", "judgement"},
		{"LeastModel", "least load of the model that a lift is compared with", LeastModel, "kg", "judgement"},
		{"pooledMost", "most that a sex is moved towards the mean of both", pooledMost, "ln", "judgement"},
		{"pooledFrom", "angle from which both sexes have one curve", pooledFrom / degree, "deg", "judgement"},
	}
}

func sharingConstants() []constant {
	return []constant{
		{"ridge", "cost of activation, square part", ridge, "1", "judgement"},
		{"RowGive", "give of a row", RowGive, "N² m²", "judgement"},
		{"PairGive", "give of a tie", PairGive, "1", "judgement"},
		{"BalanceGive", "give of a row of the whole body's balance", BalanceGive, "N²", "judgement"},
		{"MinPrice", "least price of a free force", MinPrice, "1", "judgement"},
		{"rowWorth", "give of a row, largest load", rowWorth, "1/(N m)", "judgement"},
		{"forceWorth", "price of a free force, largest load", forceWorth, "N m", "judgement"},
		{"muscleWorth", "price of activation, largest load", muscleWorth, "N m", "judgement"},
		{"facetArm", "arm that turns shear into a moment", facetArm, "m", "judgement"},
		{"passiveBand", "passive band", passiveBand, "N m", "judgement"},
		{"bandCost", "cost of a full passive band", bandCost, "1", "judgement"},
	}
}

func passiveConstants() []constant {
	return []constant{
		{"spineMoment", "passive moment of the bent spine", spineMoment, "N m", "dolan-1994"},
		{"spineFull", "full lumbar flexion", spineFull / degree, "deg", "judgement"},
		{"spineRise", "rise of the spine's moment", spineRise, "1", "judgement"},
		{"passiveMass", "mass of those measured passively", passiveMass, "kg", "judgement"},
		{"passiveHeight", "height of those measured passively", passiveHeight, "m", "judgement"},
		{"passiveHipLow", "passive moments from this hip flexion", passiveHipLow, "deg", "riener-edrich-1999"},
		{"passiveHipHigh", "to", passiveHipHigh, "deg", "riener-edrich-1999"},
		{"passiveKneeLow", "passive moments from this knee flexion", passiveKneeLow, "deg", "riener-edrich-1999"},
		{"passiveKneeHigh", "to", passiveKneeHigh, "deg", "riener-edrich-1999"},
		{"passiveAnkleLow", "passive moments from this dorsiflexion", passiveAnkleLow, "deg", "riener-edrich-1999"},
		{"passiveAnkleHigh", "to", passiveAnkleHigh, "deg", "riener-edrich-1999"},
	}
}

func girdleConstants() []constant {
	return []constant{
		{"girdleHeight", "height that points of girdle and arm are given for", girdleHeight, "m", "girdle-joints"},
		{"scapulaOnset", "elevation from which the blade turns", scapulaOnset / degree, "deg", "inman-1944"},
		{"scapulaShare", "turn of the blade for each turn of the arm", scapulaShare, "1", "inman-1944"},
		{"scapulaPlane", "plane of the blade from sideways", scapulaPlane / degree, "deg", "girdle-joints"},
		{"scapulaTurn", "turn of the blade with protraction", scapulaTurn / degree / 100, "deg/cm", "girdle-joints"},
		{"shoulderBand", "passive band of the shoulder", shoulderBand, "N m", "judgement"},
		{"overheadBand", "the same of the fully raised arm", overheadBand, "N m", "judgement"},
		{"overheadFrom", "elevation from which that rises", overheadFrom / degree, "deg", "judgement"},
		{"overheadFull", "elevation at which it is full", overheadFull / degree, "deg", "judgement"},
		{"handPlacement", "how far the hand finds its own place", handPlacement, "m", "judgement"},
		{"girdleStop", "passive moment of the girdle let down", girdleStop, "N m", "judgement"},
		{"girdleLow", "elevation above which it is 0", girdleLow, "m", "judgement"},
		{"elbowStop", "passive moment of the straight elbow", elbowStop, "N m", "judgement"},
		{"elbowFrom", "elbow flexion at which it begins", elbowFrom / degree, "deg", "judgement"},
		{"elbowFull", "elbow flexion at which it is full", elbowFull / degree, "deg", "judgement"},
		{"braceAlong", "where an arm rests on the trunk", braceAlong, "upper arms", "judgement"},
		{"braceMost", "how hard at most", braceMost, "body weights", "judgement"},
		{"gripSlack", "sideways force of hands that press, about the measured one", gripSlack, "loads", "judgement"},
		{"hangSideways", "sideways force of hands that hang on a bar", hangSideways, "loads", "judgement"},
	}
}

func contactConstants() []constant {
	return []constant{
		{"midFoot", "pressure under a foot from the heel", midFoot, "feet", "judgement"},
		{"midBar", "middle of the foot for a bar", midBar, "feet", "common-practice"},
		{"toeReach", "toes carry this far ahead of the ball", toeReach, "1", "judgement"},
		{"seatBack", "seat: half length", seatBack, "H", "judgement"},
		{"seatDown", "seat: depth below the hips", seatDown, "H", "judgement"},
		{"seatHalf", "seat: half width", seatHalf, "H", "judgement"},
		{"backDepth", "skin of the back from the spine line", backDepth, "H", "judgement"},
		{"chestDepth", "skin of the chest from the spine line", chestDepth, "H", "judgement"},
		{"flankHalf", "flank from the midline", flankHalf, "H", "judgement"},
		{"hipSideHalf", "side of the hip from the midline", hipSideHalf, "H", "judgement"},
		{"bladeDown", "blade below the shoulder", bladeDown, "H", "judgement"},
		{"bladeIn", "blade inward of the shoulder", bladeIn, "H", "judgement"},
		{"limbDepth", "skin of thigh and shank from the joint line", limbDepth, "H", "judgement"},
		{"headBack", "back of the head", headBack, "H", "judgement"},
		{"shoulderFlesh", "shoulder centre to the skin over it", shoulderFlesh, "H", "judgement"},
		{"ballFlesh", "half length of the ball of the foot on the floor", ballFlesh, "H", "judgement"},
		{"palmFlesh", "half length of the palm", palmFlesh, "H", "judgement"},
		{"kneeFlesh", "half length of the knee", kneeFlesh, "H", "judgement"},
		{"ankleStrap", "strap along the shank", ankleStrap, "shanks", "judgement"},
		{"kneeStrap", "strap along the thigh", kneeStrap, "thighs", "judgement"},
		{"normalWeight", "stage 1: weight of pressure", normalWeight, "1", "judgement"},
		{"shearWeight", "stage 1: weight of shear", shearWeight, "1", "judgement"},
		{"soleFriction", "friction under feet", soleFriction, "1", "judgement"},
		{"padFriction", "friction of pads", padFriction, "1", "judgement"},
		{"pressPrice", "stage 2: price of pressure under a foot", pressPrice, "1", "judgement"},
		{"shearPrice", "stage 2: price of shear", shearPrice, "1", "judgement"},
		{"freePrice", "stage 2: price of pads, grips, free shear and bar", freePrice, "1", "judgement"},
		{"shearShift", "stage 2: most turn of the push under a foot, ahead and back", shearShift, "1", "judgement"},
		{"maxImbalance", "most that may be left over", maxImbalance, "weights", "judgement"},
	}
}

func postureConstants() []constant {
	return []constant{
		{"startPull", "pull to the start values", startPull, "1", "judgement"},
		{"girdlePull", "the same of the girdle", girdlePull, "1/m", "judgement"},
		{"limitWeight", "weight of what is beyond a joint's range", limitWeight, "1", "judgement"},
		{"lengthWish", "factor on wishes that are lengths", lengthWish, "1", "judgement"},
		{"maxOff", "most a hard target may be off", maxOff, "m", "judgement"},
		{"maxOffAngle", "the same of angles", maxOffAngle / degree, "deg", "judgement"},
		{"lengthSpan", "a measured length lies within this factor of the norm", lengthSpan, "1", "judgement"},
		{"minHeight", "least height", minHeight, "m", "judgement"},
		{"maxHeight", "largest height", maxHeight, "m", "judgement"},
		{"minMass", "least mass", minMass, "kg", "judgement"},
		{"maxMass", "largest mass", maxMass, "kg", "judgement"},
	}
}

func askedConstants() []constant {
	return []constant{
		{"ShareLoad", "part of the largest load at which shares are read", ShareLoad, "1", "judgement"},
		{"loadStep", "factor from one load step to the next", loadStep, "1", "judgement"},
		{"firstLoad", "first load step", firstLoad, "kg", "judgement"},
		{"loadDifference", "change of load that gives the rise of moments", loadDifference, "kg", "judgement"},
		{"MostLoad", "largest load looked for", MostLoad, "kg", "judgement"},
		{"moves", "change from which a joint moves", moves / degree, "deg", "judgement"},
		{"movesGirdle", "the same of the girdle", movesGirdle, "m", "judgement"},
		{"level", "change of height up to which a weight is carried level", level, "m", "judgement"},
		{"trivial", "part of the largest moment that tells nothing", trivial, "1", "judgement"},
		{"leastActivation", "activation of the leader below which shares say nothing", leastActivation, "1", "judgement"},
		{"shareBodies", "bodies drawn for a range of shares", shareBodies, "1", "judgement"},
		{"shareStrengths", "strengths drawn for each", shareStrengths, "1", "judgement"},
		{"shareSpread", "spread of a muscle's strength in these", shareSpread, "ln", "judgement"},
	}
}

func drawnConstants() []constant {
	return []constant{
		{"OrderingHolds", "part of draws in which a direction must hold", OrderingHolds, "1", "judgement"},
		{"drawnStrength", "drawn clients: strength of a muscle, SD", drawnStrength, "ln", "judgement"},
		{"drawnLength", "drawn clients: length of a limb, most", drawnLength, "1", "judgement"},
		{"drawnPlace", "drawn clients: target, most", drawnPlace, "m", "judgement"},
		{"drawnAngle", "drawn clients: angle, most", drawnAngle / degree, "deg", "judgement"},
		{"sixRepetitions", "load of six repetitions", sixRepetitions, "largest loads", "common-practice"},
		{"tenRepetitions", "load of ten repetitions", tenRepetitions, "largest loads", "common-practice"},
		{"heldBack", "dorsiflexion of knees kept back", heldBack / degree, "deg", "judgement"},
		{"weakerRotators", "weak deep rotators", weakerRotators, "1", "judgement"},
		{"longerThigh", "longer thigh", longerThigh, "1", "judgement"},
		{"nearlyNoLarger", "no larger allows", nearlyNoLarger, "1", "judgement"},
		{"deeperThanLevel", "thigh of a squat below level", deeperThanLevel, "deg", "judgement"},
		{"benchOfBody", "load of presses compared", benchOfBody, "body masses", "judgement"},
		{"nearlyLeads", "of the hardest leads too", nearlyLeads, "1", "judgement"},
	}
}
