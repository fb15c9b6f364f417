// Command make draws the sticky cards that lie beside it, and writes down what is
// true of them.
//
//	go run testdata/card/make.go
package main

import (
	"encoding/json"
	"log"
	"os"

	"leafturn/photo/card/cardtest"
)

func main() {
	for _, c := range []struct {
		name   string
		specks int
		blue   bool
	}{{"yellow", 37, false}, {"blue", 12, true}} {
		s := cardtest.Plain(20261, c.specks)
		s.Blue, s.Lines, s.Large, s.Uneven, s.Tilt = c.blue, true, 1, 0.2, 0.04
		p := cardtest.Draw(s)
		truth, err := json.MarshalIndent(cardtest.Truth{Count: c.specks, Corners: p.Corners, Specks: p.Specks}, "", "\t")
		if err != nil {
			log.Fatal(err)
		}
		write(c.name+".json", append(truth, '\n'))
		write(c.name+".jpg", p.JPEG)
	}
}

func write(name string, b []byte) {
	if err := os.WriteFile("testdata/card/"+name, b, 0o644); err != nil {
		log.Fatal(err)
	}
}
