package simtest_test

import (
	"flag"
	"fmt"
	"regexp"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/require"
)

var (
	seeds = flag.Uint64("seeds", 300, "how many seeds to live through")
	first = flag.Uint64("first", 1, "the first seed")
	only  = flag.String("moves", "", "live through these moves of each seed only, by number, separated by commas")
)

// TestSeeds lives through many seeds. A seed that fails prints itself, and the
// fewest of its moves that fail too:
//
//	go test ./sync/simtest -run Seeds -args -seeds N -first K
func TestSeeds(t *testing.T) {
	var next atomic.Uint64
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for n := next.Add(1) - 1; n < *seeds && !t.Failed(); n = next.Add(1) - 1 {
				if words := try(*first+n, usual); words != "" {
					t.Error(words)
				}
			}
		})
	}
	wg.Wait()
}

// try lives through a seed and tells how it failed, or nothing.
func try(seed uint64, opt options) string {
	all := draw(seed, opt.moves)
	if *only != "" {
		_, err := live(seed, chosen(all, *only), opt)
		return story(seed, all, *only, opt, err)
	}
	_, err := live(seed, all, opt)
	if err == nil {
		return ""
	}
	sort := sortOf(err)
	keep := shrink(len(all), func(keep []int) bool {
		_, err := live(seed, those(all, keep), opt)
		return err != nil && sortOf(err) == sort
	})
	return story(seed, all, numbers(keep), opt, err)
}

// sortOf is what went wrong, without where and to whom, so that a seed is shrunk to the
// fault that it was found by.
func sortOf(err error) string {
	return strings.Join(particulars.Split(err.Error(), -1), "")
}

var particulars = regexp.MustCompile(`^(move \d+|heal|begin)|[0-9a-f-]*\d[0-9a-f-]*|\{.*\}|\[.*\]`)

// story tells a failing run in words.
func story(seed uint64, all []move, keep string, opt options, first error) string {
	w, err := live(seed, chosen(all, keep), opt)
	if err == nil {
		return ""
	}
	return fmt.Sprintf("seed %d: %v\nthe fewest moves that fail: %v\n  %s\nagain: go test ./sync/simtest -run Seeds -args -seeds 1 -first %d -moves %s",
		seed, first, err, strings.Join(w.story, "\n  "), seed, keep)
}

func those(all []move, keep []int) []move {
	out := make([]move, len(keep))
	for i, n := range keep {
		out[i] = all[n]
	}
	return out
}

// numbers writes a list of moves as the flag reads it; "-" is none.
func numbers(keep []int) string {
	if len(keep) == 0 {
		return "-"
	}
	return strings.Trim(strings.ReplaceAll(fmt.Sprint(keep), " ", ","), "[]")
}

func chosen(all []move, list string) []move {
	var keep []int
	for _, text := range strings.Split(list, ",") {
		if n, err := strconv.Atoi(text); err == nil && n < len(all) {
			keep = append(keep, n)
		}
	}
	return those(all, keep)
}

func TestTheSameSeedIsTheSameRun(t *testing.T) {
	for seed := range uint64(5) {
		one, err := live(seed, draw(seed, usual.moves), usual)
		require.NoError(t, err)
		two, err := live(seed, draw(seed, usual.moves), usual)
		require.NoError(t, err)
		require.Equal(t, one.story, two.story)
		require.Equal(t, one.trace.Sum(nil), two.trace.Sum(nil))
		other, err := live(seed+1000, draw(seed+1000, usual.moves), usual)
		require.NoError(t, err)
		require.NotEqual(t, one.trace.Sum(nil), other.trace.Sum(nil))
	}
}

// A disk that forgets to sync loses what people were told is saved. If the
// simulation did not notice, its other results would mean nothing. What it finds is
// told in few moves, which fail again.
func TestADiskThatLiesIsFound(t *testing.T) {
	lying := usual
	lying.lying = true
	for seed := range uint64(50) {
		words := try(seed, lying)
		if words == "" {
			continue
		}
		_, list, _ := strings.Cut(words, "-moves ")
		few := chosen(draw(seed, lying.moves), list)
		require.LessOrEqual(t, len(few), 6, words)
		_, err := live(seed, few, lying)
		require.Error(t, err)
		_, err = live(seed, few, usual)
		require.NoError(t, err, "the same moves on honest disks")
		return
	}
	t.Fatal("50 seeds with lying disks and no fault found")
}
