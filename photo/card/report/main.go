// Command report draws sticky cards, counts the specks on them, and prints how
// far the counts are off: one line "name value unit" for each figure. Hard cards have
// printed lines, large insects, hairs, shadow, reflected light, blur and grain; plain
// ones, whose figures are named so, have none of that.
//
//	go run ./photo/card/report [-cards n]
//
// The cards are drawn. The figures promise nothing for real ones.
package main

import (
	"flag"
	"fmt"

	"leafturn/photo/card/cardtest"
)

func main() {
	n := flag.Int("cards", 60, "how many hard cards are drawn; of plain ones half as many")
	flag.Parse()
	plain, hard := cardtest.Measure(cardtest.Series(cardtest.Plain, 0, *n/2)), cardtest.Measure(cardtest.Series(cardtest.Hard, 0, *n))
	for _, group := range []struct {
		of    string
		score cardtest.Score
	}{{"", hard}, {"-plain", plain}} {
		line := func(name string, value float64, unit string) {
			fmt.Printf("card-%s%s %.2f %s\n", name, group.of, value, unit)
		}
		s := group.score
		line("count-error-percent", s.ErrorPercent(), "%")
		line("count-few-error", s.FewOff(), "specks")
		line("count-bias-percent", s.BiasPercent(), "%")
		line("count-within-bounds-percent", s.WithinPercent(), "%")
		line("refused-percent", 100*float64(s.Refused)/float64(max(s.Cards, 1)), "%")
	}
}
