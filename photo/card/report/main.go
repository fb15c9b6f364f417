// Command report draws sticky cards, counts the specks on them, and prints how
// far the counts are off: one line "name value unit" for each figure.
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
	for _, group := range []struct {
		name   string
		scenes []cardtest.Scene
	}{
		{"plain", cardtest.Series(cardtest.Plain, 0, *n/2)},
		{"hard", cardtest.Series(cardtest.Hard, 0, *n)},
	} {
		s := cardtest.Measure(group.scenes)
		fmt.Printf("card-count-error-percent-%s %.2f %%\n", group.name, s.ErrorPercent())
		fmt.Printf("card-count-few-error-%s %.2f specks\n", group.name, s.FewOff())
		fmt.Printf("card-count-bias-percent-%s %.2f %%\n", group.name, s.BiasPercent())
		fmt.Printf("card-count-within-bounds-percent-%s %.1f %%\n", group.name, s.WithinPercent())
		fmt.Printf("card-refused-percent-%s %.1f %%\n", group.name, 100*float64(s.Refused)/float64(max(s.Cards, 1)))
	}
}
