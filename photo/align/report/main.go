// Command report aligns leaf photographs with changed copies of themselves and with
// other leaves, and prints what came of it: one line "name value unit" each.
//
//	go run ./photo/align/report [-copies n] [folder]
//
// The folder holds JPEG files; without one it is testdata/leaf. True second photos
// of a leaf are not in it.
package main

import (
	"flag"
	"fmt"
	"image"
	"os"
	"time"

	"leafturn/photo/align"
	"leafturn/photo/align/aligntest"
)

const kept = "testdata/leaf"

func main() {
	copies := flag.Int("copies", 5, "changed copies of each photograph")
	flag.Parse()
	folder := kept
	if flag.NArg() > 0 {
		folder = flag.Arg(0)
	}
	if err := report(folder, *copies); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func report(folder string, copies int) error {
	leaves, err := aligntest.Leaves(folder)
	if err != nil {
		return err
	}
	var many []image.Image
	for range copies {
		many = append(many, leaves...)
	}
	same := aligntest.Same(many, 1000)
	n := float64(len(many)) / 100
	fmt.Printf("align-within-5px-percent %.1f %%\n", float64(same.Right)/n)
	fmt.Printf("align-refused-percent %.1f %%\n", float64(same.Refused)/n)
	fmt.Printf("align-wrong-percent %.1f %%\n", float64(same.Wrong)/n)
	fmt.Printf("align-worst-px %.2f px\n", same.Worst)
	start := time.Now()
	for _, leaf := range leaves {
		align.Find(leaf, leaf)
	}
	fmt.Printf("align-ms %.0f ms\n", float64(time.Since(start).Milliseconds())/float64(len(leaves)))
	other := aligntest.Different(leaves, min(len(leaves)-1, 15))
	fmt.Printf("align-false-accepts %d pairs\nalign-different-leaves %d pairs\n", other.Wrong, other.Wrong+other.Refused)
	tabled, err := aligntest.LeavesOnTable(kept)
	if err != nil {
		return err
	}
	onTable := aligntest.Different(tabled, len(tabled)-1)
	fmt.Printf("align-false-accepts-same-table %d pairs\nalign-different-leaves-same-table %d pairs\n", onTable.Wrong, onTable.Wrong+onTable.Refused)
	sameTable := aligntest.Same(tabled, 2000)
	fmt.Printf("align-same-leaf-same-table %d pairs\nalign-same-leaf-same-table-of %d pairs\n", sameTable.Right, len(tabled))
	return nil
}
