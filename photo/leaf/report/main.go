// Command report measures photographs that experts have marked, and says how far
// the measurements are off.
//
//	report [-half held|fit] [-each] <folder of the sets>
//
// It prints "name value unit" lines on standard output, and tables on standard
// error. The held half was never looked at while the rules were made; figures of
// the fit half say nothing about unseen pictures.
package main

import (
	"flag"
	"fmt"
	"io"
	"os"
	"slices"

	"leafturn/photo/leaf"
	"leafturn/photo/leaf/internal/dataset"
)

func main() {
	half := flag.String("half", "held", "which half to measure: held or fit")
	each := flag.Bool("each", false, "a line for every photograph")
	flag.Parse()
	if err := report(os.Stdout, os.Stderr, flag.Arg(0), *half == "fit", *each); err != nil {
		fmt.Fprintln(os.Stderr, "report:", err)
		os.Exit(1)
	}
}

// result is one set, measured.
type result struct {
	set     string
	pairs   []pair
	overlap []float64 // of leaf found and leaf marked
	healthy []float64 // what leaves without a mark were read as
	pale    []float64 // pale and silver read on them, which must be nothing
	refused map[leaf.Reason]int
	lost    []float64 // what experts marked on the refused
	within  int       // experts' figures inside the interval
	guess   float64
}

func report(lines, tables io.Writer, root string, fit, each bool) error {
	var all []pair
	var results []result
	for _, set := range []dataset.Set{dataset.Coffee, dataset.Soybean} {
		examples, err := dataset.Load(root, set, fit)
		if err != nil {
			return err
		}
		guess, err := constantGuess(root, set)
		if err != nil {
			return err
		}
		r := measure(set, examples, each, tables)
		fmt.Fprintln(tables, set.Short, "refused:", r.refused)
		r.guess = guess
		results, all = append(results, r), append(all, r.pairs...)
	}
	coffee, soybean := results[0], results[1]
	fmt.Fprintf(lines, "damage-error-points %.2f points\n", meanError(all))
	fmt.Fprintf(lines, "damage-concordance %.3f lin\n", min(concordance(coffee.pairs), concordance(soybean.pairs)))
	fmt.Fprintf(lines, "leaf-iou %.4f share\n", mean(coffee.overlap))
	fmt.Fprintf(lines, "leaf-iou-worst-twentieth %.4f share\n", quantile(coffee.overlap, 0.05))
	fmt.Fprintf(lines, "healthy-leaf-percent %.3f percent\n", mean(coffee.healthy))
	for _, r := range results {
		r.print(lines)
	}
	return nil
}

// constantGuess is the error of always saying the mean of the fit half. It needs
// no picture, so whatever does not beat it measures nothing.
func constantGuess(root string, set dataset.Set) (float64, error) {
	examples, err := dataset.Load(root, set, true)
	if err != nil {
		return 0, err
	}
	truths := make([]float64, len(examples))
	for i, e := range examples {
		truths[i] = 100 * e.Fraction()
	}
	return mean(truths), nil
}

func measure(set dataset.Set, examples []dataset.Example, each bool, to io.Writer) result {
	r := result{set: set.Short, refused: map[leaf.Reason]int{}}
	for _, e := range examples {
		m := leaf.Measure(e.Image, leaf.Options{Kind: set.Kind})
		if each {
			fmt.Fprintf(to, "%s %v read %.2f ± %.2f marked %.2f pale %.2f silver %.2f sharp %.2f confidence %.2f\n", e.Name, m.Reason,
				100*m.Damaged, 100*m.Uncertain, 100*e.Fraction(), 100*m.Pale, 100*m.Silver, m.Quality.Sharpness, m.Confidence)
		}
		if m.Verdict != leaf.Measured {
			r.refused[m.Reason]++
			r.lost = append(r.lost, 100*e.Fraction())
			continue
		}
		r.take(e, m)
	}
	return r
}

func (r *result) take(e dataset.Example, m leaf.Measurement) {
	p := pair{read: 100 * m.Damaged, truth: 100 * e.Fraction()}
	r.pairs = append(r.pairs, p)
	if max(p.read-p.truth, p.truth-p.read) <= 100*m.Uncertain {
		r.within++
	}
	if p.truth == 0 {
		r.healthy = append(r.healthy, p.read)
		r.pale = append(r.pale, 100*(m.Pale+m.Silver))
	}
	both, either := 0, 0
	for i, part := range m.Map.Parts {
		found, marked := part != leaf.Ground, e.Leaf.In[i]
		if found && marked {
			both++
		}
		if found || marked {
			either++
		}
	}
	r.overlap = append(r.overlap, float64(both)/float64(either))
}

func (r result) print(to io.Writer) {
	line := func(name, unit string, value float64) { fmt.Fprintf(to, "%s-%s %.3f %s\n", r.set, name, value, unit) }
	spread := func(name, unit string, figure func([]pair) float64) {
		low, high := interval(r.pairs, figure)
		line(name, unit, figure(r.pairs))
		line(name+"-low", unit, low)
		line(name+"-high", unit, high)
	}
	guesses := make([]pair, len(r.pairs))
	for i, p := range r.pairs {
		guesses[i] = pair{read: r.guess, truth: p.truth}
	}
	all := slices.Clone(r.pairs)
	for _, truth := range r.lost {
		all = append(all, pair{read: r.guess, truth: truth})
	}
	line("measured", "photos", float64(len(r.pairs)))
	line("refused", "photos", float64(len(r.lost)))
	line("error-refused-guessed", "points", meanError(all)) // who gets no figure has only the guess
	spread("error-mean", "points", meanError)
	spread("error-median", "points", medianError)
	line("error-constant-guess", "points", meanError(guesses))
	spread("concordance", "lin", concordance)
	line("inside-interval", "share", float64(r.within)/float64(len(r.pairs)))
	if len(r.healthy) > 0 {
		line("healthy-read-worst", "percent", quantile(r.healthy, 1))
		line("healthy-read-pale-or-silver", "percent", mean(r.pale))
	}
}
