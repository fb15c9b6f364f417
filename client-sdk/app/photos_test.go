package app

import (
	"context"
	"fmt"
	"image"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/client-sdk/screens"
	"leafturn/model"
	"leafturn/photo/align"
	"leafturn/photo/leaf"
)

func photoFile(t *testing.T, name string) []byte {
	t.Helper()
	data, err := os.ReadFile("../../testdata/" + name)
	require.NoError(t, err)
	return data
}

// pictured is a phone with a finding that shows a photo, and the photo's sum.
func pictured(t *testing.T, file string) (*phone, string) {
	p := beginner(t)
	fern := p.plant("Fern")
	p.snap(fern, photoFile(t, file))
	p.do(screens.ActSaveFinding, "plant", fern, "sign", "1")
	return p, p.value(`data-photo="([0-9a-f]{64})"`)
}

func (p *phone) measurements() []*model.Measurement {
	var out []*model.Measurement
	p.house.Read(func(b *model.Book) {
		for _, f := range b.Facts() {
			if m, ok := f.Body.(*model.Measurement); ok {
				out = append(out, m)
			}
		}
	})
	return out
}

func TestSeveralPhotosForOneLook(t *testing.T) {
	p := beginner(t)
	fern := p.plant("Fern")
	one, two := photoFile(t, "photos/leaf-underside-1.jpg"), photoFile(t, "photos/leaf-spotted-1.jpg")
	p.snap(fern, one)
	p.snap(fern, two)
	p.snap(fern, one)
	require.Len(t, p.shots.taken, 2, "the same photo is one photo")
	p.do(screens.ActRemovePhoto, "plant", fern, "shot", p.shots.taken[0].sum.String())
	require.Len(t, p.shots.taken, 1)
	p.snap(fern, one)
	p.restart(screens.FindingRoute(fern, ""))
	require.Empty(t, p.syncs.queue, "nothing shows them")
	p.snap(fern, two)
	p.snap(fern, one)
	p.do(screens.ActSaveFinding, "plant", fern)
	p.house.Read(func(b *model.Book) {
		require.Len(t, b.Facts()[0].Body.(*model.Inspection).Photos, 2, "photos are a finding")
	})
	require.Len(t, p.syncs.queue, 2)
}

// noting notes which photos were to be kept at their full size.
type noting struct {
	darkroom
	full *[]bool
}

func (n noting) Prepare(file []byte, full bool) ([]byte, image.Image, error) {
	*n.full = append(*n.full, full)
	return n.darkroom.Prepare(file, full)
}

func TestFullSizeIsKeptOnRequest(t *testing.T) {
	p := beginner(t)
	fern := p.plant("Fern")
	var asked []bool
	p.o.Darkroom = noting{full: &asked}
	for _, full := range []string{"", "1"} {
		p.send(Event{Do: screens.ActAddPhoto, Data: dataOf([]string{"plant", fern, "full", full}), Files: []File{{Field: "photo", Bytes: photoFile(t, "photos/leaf-underside-1.jpg")}}})
	}
	require.Equal(t, []bool{false, true}, asked)
}

func TestMeasureLeaf(t *testing.T) {
	p, sum := pictured(t, "photos/leaf-spotted-1.jpg")
	require.Contains(t, p.open(screens.PhotoRoute(sum)), "Measure this leaf")
	p.open(screens.MeasureRoute(sum))
	require.Regexp(t, `about \d`, p.page[screens.IDFigure])
	require.Contains(t, p.page[screens.IDMarks], "<path")
	p.do(screens.ActNoteMeasure, "sum", sum, "agree", "1")
	list := p.measurements()
	require.Len(t, list, 1)
	require.Equal(t, model.Agreed, list[0].Verdict)
	require.Equal(t, int(leaf.Version), list[0].Method)
	require.InDelta(t, 310, list[0].Damaged, 60, "about what package leaf finds by itself")
	require.Contains(t, p.open(screens.PhotoRoute(sum)), "Noted and agreed to: about 3 %")
}

func TestOutlineByHand(t *testing.T) {
	p, sum := pictured(t, "photos/leaf-spotted-1.jpg")
	p.open(screens.MeasureRoute(sum))
	p.do(screens.ActOutline, "sum", sum)
	require.Len(t, p.leaf.drawn, usualPoints)
	for range 10 {
		p.do(screens.ActOutline, "sum", sum, "how", "fewer")
	}
	require.Len(t, p.leaf.drawn, leastPoints)
	for i, at := range []struct{ x, y float64 }{{.3, .3}, {.7, .3}, {.7, .7}, {.3, .7}} {
		p.leaf.drawn[i] = pointAt(at.x+.1, at.y) // somewhere near
		p.do(screens.ActOutline, "sum", sum, "how", "tap", "x", fmt.Sprint(at.x), "y", fmt.Sprint(at.y))
	}
	p.do(screens.ActOutline, "sum", sum, "how", "left")
	p.do(screens.ActMeasureAgain, "sum", sum)
	require.True(t, p.leaf.found.Corrected)
	p.do(screens.ActNoteMeasure, "sum", sum, "agree", "1")
	list := p.measurements()
	require.Len(t, list, 1)
	require.Equal(t, model.Outlined, list[0].Verdict)
	require.Contains(t, list[0].Outline, model.Point{X: 7000, Y: 3000})
	require.Contains(t, list[0].Outline, model.Point{X: 3000 - nudge, Y: 7000})
}

// Every reason of the method has its words.
func TestReasonsHaveWords(t *testing.T) {
	p := beginner(t)
	for r := leaf.TooLarge; r <= leaf.BadOutline; r++ {
		require.NotEmpty(t, p.App.t.Measure.CannotTell[r.String()], r)
	}
	for _, r := range []leaf.Reason{leaf.TooLarge, leaf.TooSmall, leaf.TooDark, leaf.TooBright, leaf.Blurred} {
		require.NotEmpty(t, p.App.t.Photos.Doubt[r.String()], r)
	}
}

func TestRecovery(t *testing.T) {
	p, sum := pictured(t, "photos/leaf-spotted-1.jpg")
	fern := p.plant("Fern")
	p.open(screens.MeasureRoute(sum))
	p.do(screens.ActNoteMeasure, "sum", sum, "agree", "1")
	p.snap(fern, photoFile(t, "photos/leaf-spotted-2.jpg"))
	p.do(screens.ActSaveFinding, "plant", fern, "growing", "1")
	p.open(screens.RecoveryRoute(fern))
	require.Contains(t, p.main(), "about 3 %")
	require.Contains(t, p.main(), p.App.t.Recovery.Growing)
	require.Contains(t, p.page[screens.IDCompare], p.App.t.Recovery.CannotTitle, "these are two leaves")
	p.do(screens.ActCompare, "plant", fern, "before", sum, "after", sum)
	require.Contains(t, p.page[screens.IDCompare], `class="beforeafter"`, "a photo agrees with itself")
	require.Contains(t, p.page[screens.IDCompare], "matrix(1.0")
	p.do(screens.ActWithdraw, "fact", factText(p.lastFact()))
	require.NotContains(t, p.open(screens.RecoveryRoute(fern)), p.App.t.Recovery.Growing)
}

// Two places shown on both photos lay them over each other exactly.
func TestPhotosLaidByHand(t *testing.T) {
	p, _ := pictured(t, "photos/leaf-spotted-1.jpg")
	fern := p.plant("Fern")
	hand := func(how string, more ...string) {
		p.do(screens.ActByHand, append([]string{"plant", fern, "how", how}, more...)...)
	}
	show := func(photo, x, y string) { hand("tap", "photo", photo, "x", x, "y", y) }
	steps := func() string { return p.page[screens.IDFigure] }
	p.snap(fern, photoFile(t, "photos/leaf-spotted-2.jpg"))
	p.do(screens.ActSaveFinding, "plant", fern)
	p.open(screens.RecoveryRoute(fern))
	require.Contains(t, p.page[screens.IDCompare], "Lay them over each other by hand")

	show(screens.OlderPhoto, ".2", ".5")
	require.Nil(t, p.pair.hand, "nobody has begun")
	hand("begin")
	require.Contains(t, p.page[screens.IDCompare], "First place: the dot")
	show(screens.OlderPhoto, ".2", ".5")
	require.Contains(t, p.page[screens.IDOlderMarks], "dot on")
	hand("next")
	require.Contains(t, steps(), p.App.t.Recovery.HandBoth)
	show(screens.NewerPhoto, ".3", ".5")
	hand("next")
	require.Contains(t, steps(), "Second place: the cross")

	show(screens.OlderPhoto, ".2", ".5")
	show(screens.NewerPhoto, ".7", ".5")
	hand("next")
	require.Contains(t, steps(), align.ErrSamePoint.Words)
	show(screens.OlderPhoto, ".8", ".5")
	hand("next")
	require.Contains(t, p.page[screens.IDCompare], `class="beforeafter"`)
	require.Contains(t, p.page[screens.IDCompare], p.App.t.Recovery.HandLaid)
	// From .3 to .7 of the newer photo is from .2 to .8 of the older one: larger by half.
	require.Regexp(t, `matrix\(1\.5\d* -?0\.0\d* -?0\.0\d* 1\.5`, p.page[screens.IDCompare])

	hand("begin")
	hand("left", "photo", screens.NewerPhoto)
	hand("down", "photo", screens.NewerPhoto)
	require.Equal(t, model.Point{X: whole/2 - nudge, Y: whole/2 + nudge}, *p.pair.hand.points[1][0], "without taps it begins in the middle")
	hand("stop")
	require.Contains(t, p.page[screens.IDCompare], `class="beforeafter"`, "what was laid stays")
	p.do(screens.ActCompare, "plant", fern, "before", p.pair.before.String(), "after", p.pair.after.String())
	require.NotContains(t, p.page[screens.IDCompare], p.App.t.Recovery.HandLaid)
}

// Figures of two methods make no trend: only those of the newer one are drawn, and that
// is said.
func TestTrendIsOfOneMethod(t *testing.T) {
	p, sum := pictured(t, "photos/leaf-spotted-1.jpg")
	fern := p.plant("Fern")
	p.open(screens.MeasureRoute(sum))
	p.do(screens.ActNoteMeasure, "sum", sum, "agree", "1")
	p.snap(fern, photoFile(t, "photos/leaf-spotted-2.jpg"))
	newer := p.shots.taken[0].sum
	p.do(screens.ActSaveFinding, "plant", fern)
	older := p.measurements()[0]
	_, failed := p.write(context.Background(), replica.Seen(&model.Measurement{Plant: older.Plant, Photo: newer, Method: older.Method + 1, Damaged: 1234, Uncertain: 100, Verdict: model.Agreed}))
	require.Nil(t, failed)
	var v screens.RecoveryView
	p.house.Read(func(b *model.Book) { v = p.recoveryView(b, older.Plant) })
	require.Len(t, v.Trend, 1)
	require.Equal(t, 1234, v.Trend[0].Share)
	require.Contains(t, p.open(screens.RecoveryRoute(fern)), "1 figure of an older method is left out")
}

func (p *phone) lastFact() (id model.FactID) {
	p.house.Read(func(b *model.Book) { id = b.Facts()[b.Len()-1].ID })
	return id
}

// carded is a phone with the form for the card of its place.
func carded(t *testing.T) (p *phone, place string) {
	p = beginner(t)
	p.house.Read(func(b *model.Book) {
		for at := range b.Places {
			place = at.String()
		}
	})
	p.open(screens.CardRoute(place))
	return p, place
}

func (p *phone) snapCard(place string, file []byte) {
	p.send(Event{Do: screens.ActCardPhoto, Data: dataOf([]string{"place", place}), Files: []File{{Field: "photo", Bytes: file}}})
}

func (p *phone) lastReading() *model.CardReading {
	var r *model.CardReading
	p.house.Read(func(b *model.Book) { r = b.Facts()[b.Len()-1].Body.(*model.CardReading) })
	return r
}

func TestCardIsCounted(t *testing.T) {
	for file, want := range map[string]int{"card/yellow.jpg": 37, "card/blue.jpg": 12} {
		t.Run(file, func(t *testing.T) {
			p, place := carded(t)
			p.snapCard(place, photoFile(t, file))
			require.Contains(t, p.main(), "Counted: ")
			require.InDelta(t, want, p.card.read.Count, float64(want)/10, "as many were drawn")
			counted := p.card.read.Count
			p.do(screens.ActSaveCard, "place", place, "count", "36", "colour", "1", "pest", fmt.Sprint(int(model.PestThrips)))
			x := p.lastReading()
			require.Equal(t, []int{36, counted}, []int{x.Count, x.Counted})
			require.Equal(t, model.PestThrips, x.Pest)
			require.NotZero(t, x.Photo)
			require.Len(t, p.syncs.queue, 1)
			require.Regexp(t, `: 36, Thrips`, p.open(screens.CardRoute(place)), "the next one sees what was read before")
		})
	}
}

func TestRingsFollowTaps(t *testing.T) {
	p, place := carded(t)
	p.snapCard(place, photoFile(t, "card/blue.jpg"))
	tap := func(x, y float64) {
		p.do(screens.ActCardRing, "place", place, "how", "tap", "x", fmt.Sprint(x), "y", fmt.Sprint(y))
	}
	value := func() string { return p.page[screens.IDFigure] }
	first, total := p.card.rings[0], p.card.total()
	w, h := p.card.long()
	p.do(screens.ActCardRing, "place", place, "how", "take")
	require.Regexp(t, `data-how="take" aria-pressed="true"`, value())
	tap(first.At.X*w+.01, first.At.Y*h)
	require.NotContains(t, p.card.rings, first, "the nearest one goes")
	require.Equal(t, total-first.Count, p.card.total())
	tap(.001, .001)
	require.Equal(t, total-first.Count, p.card.total(), "no ring is near the corner")
	p.do(screens.ActCardRing, "place", place, "how", "add")
	tap(.5, .5)
	tap(.51, .5)
	require.Equal(t, total-first.Count+2, p.card.total(), "two may lie close together")
	require.Contains(t, value(), fmt.Sprintf(`value="%d"`, p.card.total()))
	require.Equal(t, total, p.card.read.Count, "what the method counted stays what it counted")
	tap(2, .5)
	require.Equal(t, total-first.Count+2, p.card.total(), "that is beside the photo")
}

// A photo that the method cannot count is counted by taps.
func TestRingsWithoutACount(t *testing.T) {
	p, place := carded(t)
	p.do(screens.ActCardRing, "place", place, "how", "tap", "x", ".5", "y", ".5")
	require.Nil(t, p.card.read, "there is no photo to tap on")
	p.snapCard(place, photoFile(t, "photos/leaf-spotted-1.jpg"))
	require.NotContains(t, p.main(), "Counted: ")
	for range 3 {
		p.do(screens.ActCardRing, "place", place, "how", "tap", "x", ".5", "y", ".5")
	}
	require.Contains(t, p.page[screens.IDFigure], `value="3"`)
	p.do(screens.ActSaveCard, "place", place, "count", "3", "pest", "99")
	x := p.lastReading()
	require.Equal(t, []int{3, -1}, []int{x.Count, x.Counted})
	require.Zero(t, x.Pest, "nobody said which")
}
