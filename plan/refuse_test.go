package plan_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"corbel/form"
)

// small files to spoil; every line counts in the expected places.
const (
	smallBlock = `form: 1
id: small
name: Small
client: client.yaml
start: 2026-11-30
weeks: 4
state: draft
revision: 2
deload:
  week: 4
  sets: 60%
sessions:
  - id: a
    name: A
    day: mon
    place: home
    slots:
      - id: a1
        exercise: back squat
        dose: 3 x 5 @ 70% of bs
        superset: A
        reasons:
          - load: quadriceps
      - id: a2
        exercise: plank
        dose: 3 x 30 s
        superset: A
        was:
          - exercise: side plank
            to_revision: 1
      - id: a3
        exercise: dip
        dose: 3 x max
changes:
  - id: swap-dip
    on: 2026-12-07
    by: Ida
    why: sore elbow
    scope: slot
    slot: a3
    do: swap
    exercise: push-up
kept:
  - code: pain-lower
    scope: slot
    at: a1
    why: it settles
    by: Ida
    on: 2026-11-30
`
	smallLog = `form: 1
client: somebody
entries:
  - block: small
    revision: 1
    session: a
    week: 1
    on: 2026-11-30
    rating: 7
    sets:
      - slot: a1
        set: 1
        done: 100 kg x 5
      - slot: a1
        set: 2
        done: 100 kg x 5
        exercise: front squat
    tests:
      - slot: a2
        measure: time
        value: 45
    skipped:
      - slot: a3
        why: elbow
    pain:
      - place: elbow
        side: left
        during: 3
`
	smallGroup = `form: 1
id: group
name: Group
language: en
zone: Europe/Vienna
days: 2-4
places:
  - id: home
    name: at home
releases:
  - id: one
    on: 2026-09-07
    block: one.yaml
  - id: two
    on: 2026-11-30
    block: two.yaml
`
	smallMember = `form: 1
id: member
name: Member
group: group.yaml
size: 4
sessions: 2
flags:
  - ask: emergency-signs
    answer: no
    on: 2026-09-07
restrictions:
  - id: no-dip
    by: client
    on: 2026-09-20
    exercise: dip
pain:
  - place: shoulder
    side: left
    on: 2026-09-20
    during: 4
changes:
  - id: away
    on: 2026-10-12
    until: 2026-10-18
    by: Member
    why: travelling
    scope: week
    week: 6
    do: pause
`
)

// A spoiled file: what is replaced, by what, and the place and text of each
// problem.
type spoiled struct {
	name, old, new string
	want           []string
}

// refuse spoils src in each way and compares all problems, in order.
func refuse(t *testing.T, info, src string, cases []spoiled) {
	t.Helper()
	read := fileReaders[info]
	if _, err := read([]byte(src)); err != nil {
		t.Fatalf("the unspoiled file: %v", err)
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if strings.Count(src, c.old) != 1 {
				t.Fatalf("%q stands %d times", c.old, strings.Count(src, c.old))
			}
			_, err := read([]byte(strings.Replace(src, c.old, c.new, 1)))
			var r *form.Refusal
			if !errors.As(err, &r) {
				t.Fatalf("got %v, want a refusal", err)
			}
			var got []string
			for _, p := range r.Problems {
				line := fmt.Sprintf("%d:%d: %s", p.Line, p.Column, p.Text)
				if len(p.Near) > 0 {
					line += "; nearest: " + strings.Join(p.Near, ", ")
				}
				got = append(got, line)
			}
			if g, w := strings.Join(got, "\n"), strings.Join(c.want, "\n"); g != w {
				t.Errorf("got\n%s\nwant\n%s", g, w)
			}
		})
	}
}

// Ensure that a block that cannot be is refused where it goes wrong.
func TestBlockRefusals(t *testing.T) {
	refuse(t, "yaml block", smallBlock, []spoiled{
		{"StartNotMonday", "start: 2026-11-30", "start: 2026-12-03", []string{
			"5:8: 2026-12-03 is a Thursday; a block starts on a Monday, such as 2026-11-30",
		}},
		{"StartTooLate", "start: 2026-11-30", "start: 2199-12-23", []string{
			"5:8: a block that starts on 2199-12-23 runs past the year 2199",
		}},
		{"TooManyWeeks", "weeks: 4", "weeks: 13", []string{
			"6:8: 13 weeks: write 1 to 12",
		}},
		{"NoClientNoGroup", "client: client.yaml\n", "", []string{
			"1:1: a block names its client or its group, and this one names neither; write client: FILE.yaml or group: FILE.yaml",
		}},
		{"ClientAndGroup", "client: client.yaml\n", "client: client.yaml\ngroup: group.yaml\n", []string{
			"1:1: a block names its client or its group, and this one names both; take one out",
		}},
		{"ClientFileAbsolute", "client: client.yaml\n", "client: /srv/client.yaml\n", []string{
			`4:9: "/srv/client.yaml" should be a file named relative to this one, with forward slashes`,
		}},
		{"RevisionNought", "revision: 2", "revision: 0", []string{
			"8:11: revision 0: write 1 or more",
			"30:26: revision 1: write an earlier revision than 0, the one of this file",
		}},
		{"DeloadWeek", "week: 4\n  sets", "week: 5\n  sets", []string{
			"10:9: week 5: write a week from 2 to 4",
		}},
		{"DeloadOfOneWeek", "weeks: 4", "weeks: 1", []string{
			"10:3: a block of one week has no deload; leave it out",
		}},
		{"DeloadMore", "sets: 60%", "sets: 120%", []string{
			"11:9: 120% kept of the sets: write 1% to 100%",
		}},
		{"DeloadReserve", "sets: 60%", "reserve: -1", []string{
			"11:12: -1 repetitions in reserve added: write 0 to 10",
		}},
		{"SlotIDTwice", "id: a2", "id: a1", []string{
			`24:13: the id "a1" stands twice; an id is given once`,
		}},
		{"SlotIDOfSession", "id: a2", "id: a", []string{
			`24:13: the id "a" stands twice; an id is given once`,
		}},
		{"UnknownExercise", "exercise: back squat", "exercise: bak sqat", []string{
			`19:19: "bak sqat" is not an exercise in the library; nearest: back-squat, box-squat`,
		}},
		{"UnknownExerciseInDose", "70% of bs", "70% of bak sqat", []string{
			`20:15: "bak sqat" is not an exercise in the library; nearest: back-squat, box-squat`,
		}},
		{"UnknownExerciseBefore", "exercise: side plank", "exercise: sidee plank", []string{
			`29:23: "sidee plank" is not an exercise in the library; nearest: side-plank, plank, lateral-lunge`,
		}},
		{"WasNow", "to_revision: 1", "to_revision: 2", []string{
			"30:26: revision 2: write an earlier revision than 2, the one of this file",
		}},
		{"WasTwice", "            to_revision: 1\n", "            to_revision: 1\n          - exercise: fly\n            to_revision: 1\n", []string{
			"32:26: two exercises stood here up to revision 1; keep one",
		}},
		{"SupersetAlone", "        superset: A\n        was", "        was", []string{
			"21:19: superset A has one exercise; give its partner the same letter or leave it out",
		}},
		{"SupersetApart", "        superset: A\n        was:\n          - exercise: side plank\n            to_revision: 1\n      - id: a3\n        exercise: dip\n", "      - id: a3\n        exercise: dip\n        superset: A\n", []string{
			"21:19: the exercises of superset A do not follow each other; move them together",
		}},
		{"SupersetWord", "        superset: A\n        reasons", "        superset: first\n        reasons", []string{
			`21:19: "first" is not a superset letter; write A to Z`,
			"27:19: superset A has one exercise; give its partner the same letter or leave it out",
		}},
		{"DoseWrong", "3 x 30 s", "3 x 30 sek", []string{
			`26:22: "sek" has no meaning here; nearest: sec, weak, per`,
		}},
		{"DoseWrongInQuotes", "3 x 30 s", `"3 x 30 sek"`, []string{
			`26:23: "sek" has no meaning here; nearest: sec, weak, per`,
		}},
		{"RestTwice", "3 x max", "3 x max rest 3:00\n        rest: 2:00", []string{
			"34:15: the rest stands here and in the dose; keep one",
		}},
		{"TempoTwice", "3 x max", "3 x max tempo 3-1-2\n        tempo: 3-1-2", []string{
			"34:16: the tempo stands here and in the dose; keep one",
		}},
		{"TempoWrong", "3 x max", "3 x max\n        tempo: 3-1", []string{
			"34:16: a tempo has three or four figures, this one has 2; write such as 3-1-2 lower-pause-lift",
		}},
		{"MeasureTwice", "3 x max", "3 x max measure reps\n        measure: pain", []string{
			"34:18: the measure stands here and in the dose; keep one",
		}},
		{"MeasureWrong", "3 x max", "3 x max\n        measure: mood", []string{
			`34:18: "mood" cannot be measured; write one of reps, load, rating, pain, time, distance, reserve`,
		}},
		{"SideTwice", "3 x max", "3 x max/side\n        side: left", []string{
			"34:15: the slot is for the left side and the dose names sides too; keep one",
		}},
		{"WeekOutOfRange", "3 x max", "3 x max\n        weeks:\n          5: 4 x max\n          1: 2 x max", []string{
			"35:14: week 5: write weeks 2 to 4; week 1 is the dose",
			"36:14: week 1: write weeks 2 to 4; week 1 is the dose",
		}},
		{"ProgressWrong", "3 x max", "3 x max\n        progress: +1 rep, 2.5 kg", []string{
			"34:27: a step of progress starts with + or -; write such as +2.5 % a week, +2.5 kg or +1 repetition",
		}},
		{"ReasonTwo", "          - load: quadriceps", "          - load: quadriceps\n            restore: knee", []string{
			"23:13: a reason says one of test, prepare, practise, load, spare, restore; this one says 2",
		}},
		{"ReasonUnknownSlot", "          - load: quadriceps", "          - prepare: a33", []string{
			`23:22: there is no slot "a33" in this block; nearest: a3, a1, a2`,
		}},
		{"ReasonSpareWithoutFor", "          - load: quadriceps", "          - spare: quadriceps", []string{
			"23:13: spare names the later slot in for, and only spare does",
		}},
		{"ReasonUnknownLift", "          - load: quadriceps", "          - practise: bak sqat", []string{
			`23:23: "bak sqat" is not an exercise in the library; nearest: back-squat, box-squat`,
		}},
		{"ChangeTwice", "kept:", "  - id: swap-dip\n    on: 2026-12-07\n    by: Ida\n    why: cold\n    scope: from\n    do: pause\nkept:", []string{
			`43:9: the id "swap-dip" stands twice; an id is given once`,
		}},
		{"ChangeWithoutSlot", "    slot: a3\n", "", []string{
			"35:5: a change of scope slot names its slot",
		}},
		{"ChangeUnknownSlot", "    slot: a3\n", "    slot: a4\n", []string{
			`40:11: there is no slot "a4" in this block; nearest: a1, a2, a3`,
		}},
		{"ChangeWithoutExercise", "    do: swap\n    exercise: push-up\n", "    do: swap\n", []string{
			"35:5: a change that does swap needs scope slot and the field exercise",
		}},
		{"ChangeDoseWithoutDose", "    do: swap\n", "    do: dose\n", []string{
			"35:5: a change that does dose needs scope slot and the field dose",
		}},
		{"ChangeUnknownSession", "    scope: slot\n    slot: a3\n    do: swap\n", "    scope: session\n    session: c\n    do: skip\n", []string{
			`40:14: there is no session "c" in this block`,
		}},
		{"ChangeWeekOutOfRange", "    scope: slot\n    slot: a3\n    do: swap\n", "    scope: week\n    week: 9\n    do: pause\n", []string{
			"40:11: week 9: write 1 to 4",
		}},
		{"ChangeEndsFirst", "    on: 2026-12-07\n    by: Ida\n    why: sore", "    on: 2026-12-07\n    until: 2026-12-01\n    by: Ida\n    why: sore", []string{
			"37:12: the change ends on 2026-12-01, before it starts on 2026-12-07",
		}},
		{"KeptUnknownSlot", "    at: a1", "    at: a9", []string{
			`46:9: there is no slot "a9" in this block; nearest: a1, a2, a3`,
		}},
		{"SeveralAtOnce", "start: 2026-11-30\nweeks: 4", "start: 2026-12-01\nweeks: 0", []string{
			"5:8: 2026-12-01 is a Tuesday; a block starts on a Monday, such as 2026-11-30",
			"6:8: 0 weeks: write 1 to 12",
		}},
	})
}

// Ensure that a log that cannot be is refused where it goes wrong.
func TestLogRefusals(t *testing.T) {
	refuse(t, "yaml log", smallLog, []spoiled{
		{"SetTwice", "set: 2", "set: 1", []string{
			"14:9: set 1 of slot a1 is logged twice in week 1; keep the right line",
		}},
		{"SetNought", "set: 2", "set: 0", []string{
			"15:14: set 0: write 1 to 60",
		}},
		{"BothSides", "        set: 2\n", "        set: 2\n        side: both\n", []string{
			"16:15: a logged set is of the left or the right side; leave side out for both at once",
		}},
		{"UnknownExercise", "front squat", "frnt sqat", []string{
			`17:19: "frnt sqat" is not an exercise in the library; nearest: front-squat`,
		}},
		{"DoneWrong", "        done: 100 kg x 5\n        exercise", "        done: 100 kg x 5-6\n        exercise", []string{
			"16:24: a range stands for what was done; write the number that was done",
		}},
		{"DoneDecimalComma", "        done: 100 kg x 5\n        exercise", "        done: 82,5 kg x 5\n        exercise", []string{
			"16:17: a comma ends a part of the line; write 82.5 for a decimal number",
		}},
		{"DoneLessThanNone", "        done: 100 kg x 5\n        exercise", "        done: 100 kg x 5, -2 in reserve\n        exercise", []string{
			"16:27: less than 0 is out of range; write 0 in reserve where none was left",
		}},
		{"WeekOutOfRange", "week: 1", "week: 13", []string{
			"7:11: week 13: write 1 to 12",
		}},
		{"RatingOutOfRange", "rating: 7", "rating: 11", []string{
			"9:13: a level of 11: write 0 to 10",
		}},
		{"RevisionNought", "revision: 1", "revision: 0", []string{
			"5:15: revision 0: write 1 or more",
		}},
		{"TestValueAndSides", "value: 45", "value: 45\n        left: 40", []string{
			"19:9: a test holds either value, or left and right",
		}},
		{"TestWithoutNumber", "        value: 45\n", "", []string{
			"19:9: a test holds either value, or left and right",
		}},
		{"TestNegative", "value: 45", "value: -4", []string{
			"19:9: a test holds numbers from 0 to 100000",
		}},
		{"PainWithoutSide", "        side: left\n        during", "        during", []string{
			"26:9: pain in elbow needs the field side: left, right or both",
		}},
		{"PainWithNeedlessSide", "place: elbow", "place: low-back", []string{
			"27:15: low-back has no side; leave it out",
		}},
		{"PainOutOfRange", "during: 3", "during: 12", []string{
			"28:17: a level of 12: write 0 to 10",
		}},
	})
}

// Ensure that a group that cannot be is refused where it goes wrong.
func TestGroupRefusals(t *testing.T) {
	refuse(t, "yaml group", smallGroup, []spoiled{
		{"ReleaseTwice", "id: two", "id: one", []string{
			`14:9: the id "one" stands twice; an id is given once`,
		}},
		{"ReleasesOutOfOrder", "on: 2026-11-30", "on: 2026-09-07", []string{
			"15:9: releases stand oldest first; 2026-09-07 is not after 2026-09-07",
		}},
		{"BlockFileAbsolute", "block: two.yaml", "block: /two.yaml", []string{
			`16:12: "/two.yaml" should be a file named relative to this one, with forward slashes`,
		}},
		{"NoDays", "days: 2-4", "days: 0", []string{
			"6:7: 0 sessions a week: write whole numbers from 1 to 14, such as 2-4",
		}},
		{"HalfDays", "days: 2-4", "days: 1.5-3", []string{
			"6:7: 1.5-3 sessions a week: write whole numbers from 1 to 14, such as 2-4",
		}},
		{"UnknownZone", "Europe/Vienna", "Europe/Wien", []string{
			`5:7: "Europe/Wien" is not a time zone; write an area and a city, such as Europe/Vienna`,
		}},
		{"PlaceTwice", "    name: at home\n", "    name: at home\n  - id: home\n    name: the other\n", []string{
			`10:9: the id "home" stands twice; an id is given once`,
		}},
	})
}

// Ensure that a member that cannot be is refused where it goes wrong.
func TestMemberRefusals(t *testing.T) {
	refuse(t, "yaml member", smallMember, []spoiled{
		{"Size", "size: 4", "size: 7", []string{
			"5:7: size 7: write 1 to 6",
		}},
		{"Sessions", "sessions: 2", "sessions: 1", []string{
			"6:11: 1 sessions a week: write 2 to 6",
		}},
		{"GroupFileAbsolute", "group: group.yaml", `group: "c:/group.yaml"`, []string{
			`4:8: "c:/group.yaml" should be a file named relative to this one, with forward slashes`,
		}},
		{"UnknownQuestion", "ask: emergency-signs", "ask: emergency-sign", []string{
			`8:10: "emergency-sign" is not a safety question; corbel ask lists them; nearest: emergency-signs, pregnancy-signs`,
		}},
		{"UnknownExercise", "exercise: dip", "exercise: dipp press", []string{
			`15:15: "dipp press" is not an exercise in the library; nearest: bench-press, machine-chest-press, leg-press`,
		}},
		{"PainWithoutSide", "    side: left\n", "", []string{
			"17:5: pain in shoulder needs the field side: left, right or both",
		}},
		{"ChangeWithoutWeek", "    week: 6\n", "", []string{
			"22:5: a change of scope week names its week",
		}},
		{"ChangeTwice", "    do: pause\n", "    do: pause\n  - id: away\n    on: 2026-11-02\n    by: Member\n    why: ill\n    scope: from\n    do: pause\n", []string{
			`30:9: the id "away" stands twice; an id is given once`,
		}},
	})
}
