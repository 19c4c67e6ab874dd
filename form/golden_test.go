package form_test

import (
	"corbel/form"
	"corbel/unit"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

// compareKits compares kits with the typed texts of quantities, not their
// values alone; a list or table without entries is the same as none.
var compareKits = cmp.Options{
	cmpopts.EquateEmpty(),
	cmpopts.IgnoreUnexported(kit{}),
	cmp.Comparer(func(a, b unit.Mass) bool { return a.Equal(b) && a.String() == b.String() }),
	cmp.Comparer(func(a, b unit.Duration) bool { return a.Equal(b) && a.String() == b.String() }),
	cmp.Comparer(func(a, b form.Date) bool { return a == b }),
}

// manyProblems is what TestFillReportsEverythingAtOnce wants, with ' for `.
const manyProblems = `
kit.yaml:1:1: the kit needs the field "id": names the kit for life
    1 | form: 1
        ^
kit.yaml:2:1: "naem" is not a field of the kit; known are form, id, name, bought, colour, note, tags, count, spare, price, share, hired and 10 more; nearest: name
    2 | naem: {en: Bar}
        ^
kit.yaml:3:9: "2026-02-29" is not a date of the calendar; write year-month-day, such as 2026-11-30
    3 | bought: 2026-02-29
                ^
kit.yaml:4:9: colour cannot be "purple"; write one of red, green, blue, yes, no
    4 | colour: purple
                ^
kit.yaml:5:1: "colour" stands twice; delete one
    5 | colour: red
        ^
kit.yaml:6:6: nothing is written for note; write a text or delete the line
    6 | note:
             ^
kit.yaml:7:7: tags should be a list; start each entry with '- '
    7 | tags: legs
              ^
kit.yaml:8:8: count should be a whole number, not "2.5"
    8 | count: 2.5
               ^
kit.yaml:9:8: spare should be a whole number without quotes, not "3"
    9 | spare: "3"
               ^
kit.yaml:10:8: price should be a number, not "cheap"
   10 | price: cheap
               ^
kit.yaml:11:8: hired should be true or false, not "yes"
   11 | hired: yes
               ^
kit.yaml:12:12: a comma stands in the number; decimals take a point, thousands no mark; write a mass such as 100 kg or 225 lb
   12 | weight: "82,5 kg"
                   ^
kit.yaml:13:15: "ä 3:75" is not minutes and seconds; write a time such as 3:00 or 90 s or 2 min
   13 | rests: [90 s, ä 3:75, 4]
                      ^
kit.yaml:13:24: the unit of 4 is missing; write a time such as 3:00 or 90 s or 2 min
   13 | rests: [90 s, ä 3:75, 4]
                               ^
kit.yaml:15:5: an entry of plates needs the field "weight": mass of the plate
   15 |   - pairs: 2
            ^
kit.yaml:16:5: "pairs" stands twice; delete one
   16 |     pairs: 3
            ^
kit.yaml:17:5: an entry of plates should be fields, each on a line as 'name: value'; known are weight, pairs, colour
   17 |   - 20 kg
            ^
kit.yaml:18:21: "colors" is not a field of an entry of plates; known are weight, pairs, colour; nearest: colour
   18 |   - {weight: 20 kg, colors: red}
                            ^
kit.yaml:19:6: box should be fields, each on a line as 'name: value'; known are room, shelf, inner
   19 | box: [hall]
             ^
kit.yaml:20:16: "heavy" is not a mass; write a mass such as 100 kg or 225 lb
   20 | loads: {squat: heavy, squat: 5 kg, bench press: }
                       ^
kit.yaml:20:23: "squat" stands twice in loads; delete one
   20 | loads: {squat: heavy, squat: 5 kg, bench press: }
                              ^
kit.yaml:20:48: nothing is written for bench press; write a mass such as 100 kg or 225 lb or delete the line
   20 | loads: {squat: heavy, squat: 5 kg, bench press: }
                                                       ^
kit.yaml:21:9: a field name of steps should be a whole number, not "one"
   21 | steps: {one: two}
                ^
kit.yaml:22:10: "Anna" is not an id; write lower-case words and digits joined by hyphens, such as anna
   22 | owners: {Anna: {shelf: 1}}
                 ^
kit.yaml:23:11: "2026-1-1" is not a date of the calendar; write year-month-day, such as 2026-11-30
   23 | checked: [2026-1-1, 1899-12-31]
                  ^
kit.yaml:23:21: "1899-12-31" is outside the years 1900 to 2199
   23 | checked: [2026-1-1, 1899-12-31]
                            ^
`
