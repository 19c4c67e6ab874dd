package effort

import (
	"fmt"
	"math"
)

// maxRating is the top of the session rating scale (1; foster-2001).
const maxRating = 10

// SessionLoad returns rating × minutes, in arbitrary units, of one session:
// rating 0..10 for the whole session, minutes of 0 or more,
// docs/model/03-session.md (22).
func SessionLoad(rating, minutes float64) (float64, error) {
	if !(rating >= 0 && rating <= maxRating) {
		return 0, fmt.Errorf("session rating %g: %w: give 0 to %d", rating, ErrRange, maxRating)
	}
	if !atLeastZero(minutes) {
		return 0, fmt.Errorf("session of %g minutes: %w: give 0 or more", minutes, ErrRange)
	}
	return rating * minutes, nil
}

// WeekLoad sums up a week of session loads. It describes; it predicts nothing.
type WeekLoad struct {
	Total    float64 // sum of the daily loads
	Mean     float64 // a day
	SD       float64 // sample SD of the daily loads
	Defined  bool    // whether Monotony and Strain are: not if all days are alike
	Monotony float64 // mean/SD; 0 if not defined
	Strain   float64 // total × monotony; 0 if not defined
}

// Week returns the sum, monotony and strain of seven daily loads, each the sum of
// the day's sessions and 0 on a rest day, docs/model/03-session.md (23) and (24).
// The SD is that of a sample. With seven equal days monotony is not defined.
func Week(daily [7]float64) (WeekLoad, error) {
	var w WeekLoad
	for i, load := range daily {
		if !atLeastZero(load) {
			return WeekLoad{}, fmt.Errorf("load of day %d, %g: %w: give 0 or more", i+1, load, ErrRange)
		}
		w.Total += load
	}
	w.Mean = w.Total / float64(len(daily))
	sum := 0.0
	for _, load := range daily {
		sum += (load - w.Mean) * (load - w.Mean)
	}
	w.SD = math.Sqrt(sum / float64(len(daily)-1))
	if w.SD <= sameDays*w.Mean {
		w.SD = 0
		return w, nil
	}
	w.Defined = true
	w.Monotony = w.Mean / w.SD
	w.Strain = w.Total * w.Monotony
	return w, nil
}

// sameDays is the SD, as a part of the mean, below which seven days count as
// alike: rounding of the mean alone makes 1e-16 (1).
const sameDays = 1e-12
