package photo_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"io"
	"os"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/photo"
	"leafturn/photo/exif"
	"leafturn/photo/phototest"
)

var home = phototest.Household(1)

// receive hands a file in with its true sum and the usual limits.
func receive(t *testing.T, s photo.Store, file []byte) (photo.Info, error) {
	t.Helper()
	return photo.Receive(t.Context(), s, home, photo.SumOf(file), bytes.NewReader(file), int64(len(file)), photo.DefaultLimits())
}

// withPosition is a JPEG with orientation 6 and a position in its EXIF block.
func withPosition(file []byte) []byte {
	block := "Exif\x00\x00MM\x00*\x00\x00\x00\x08\x00\x02" +
		"\x01\x12\x00\x03\x00\x00\x00\x01\x00\x06\x00\x00" + "\x88\x25\x00\x04\x00\x00\x00\x01\x00\x00\x00\x26" + "\x00\x00\x00\x00" +
		"\x00\x01\x00\x01\x00\x02\x00\x00\x00\x02N\x00\x00\x00\x00\x00\x00\x00CANARY"
	return slices.Concat(file[:2], segment(0xe1, block), file[2:])
}

func segment(marker byte, payload string) []byte {
	n := len(payload) + 2
	return append([]byte{0xff, marker, byte(n >> 8), byte(n)}, payload...)
}

func TestReceive(t *testing.T) {
	jpg := phototest.JPEG(1600, 1200, 1)
	for _, c := range []struct {
		name         string
		file         []byte
		want         photo.Info
		small, large image.Point
	}{
		{"jpeg", jpg, photo.Info{Type: exif.JPEG, Width: 1600, Height: 1200, Orientation: 1}, image.Pt(320, 240), image.Pt(1280, 960)},
		{"turned jpeg with a position", withPosition(jpg), photo.Info{Type: exif.JPEG, Width: 1600, Height: 1200, Orientation: 6}, image.Pt(240, 320), image.Pt(960, 1280)},
		{"png", phototest.PNG(200, 400, 1), photo.Info{Type: exif.PNG, Width: 200, Height: 400, Orientation: 1}, image.Pt(160, 320), image.Point{}},
		{"webp", phototest.WebP(2000, 100, color.NRGBA{9, 99, 9, 255}), photo.Info{Type: exif.WebP, Width: 2000, Height: 100, Orientation: 1}, image.Pt(320, 16), image.Pt(1280, 64)},
		{"smaller than any copy", phototest.JPEG(20, 10, 1), photo.Info{Type: exif.JPEG, Width: 20, Height: 10, Orientation: 1}, image.Pt(20, 10), image.Point{}},
		{"html and jpeg at once", slices.Concat(jpg[:2], segment(0xfe, "--><html><script>CANARY</script>"), jpg[2:]), photo.Info{Type: exif.JPEG, Width: 1600, Height: 1200, Orientation: 1}, image.Pt(320, 240), image.Pt(1280, 960)},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := phototest.NewMemory()
			info, err := receive(t, s, c.file)
			require.NoError(t, err)
			kept, stored, err := s.Read(t.Context(), home, photo.SumOf(c.file))
			require.NoError(t, err)
			c.want.Sum, c.want.Kept, c.want.Bytes = photo.SumOf(c.file), photo.SumOf(kept), int64(len(kept))
			require.Equal(t, c.want, info)
			require.Equal(t, info, stored)
			require.NotContains(t, string(kept), "CANARY")
			requireCopy(t, s, info.Sum, photo.Small, c.small)
			requireCopy(t, s, info.Sum, photo.Large, c.large)
		})
	}
}

// requireCopy checks a copy's size and that it holds nothing but a picture; no
// size means that there must be no such copy.
func requireCopy(t *testing.T, s photo.Store, sum photo.Sum, size photo.Size, want image.Point) {
	t.Helper()
	b, err := s.ReadDerivative(t.Context(), home, sum, size)
	if want == (image.Point{}) {
		require.ErrorIs(t, err, photo.ErrNoDerivative)
		return
	}
	require.NoError(t, err)
	stripped, err := exif.Strip(b)
	require.NoError(t, err)
	require.Equal(t, b, stripped.Kept)
	require.Equal(t, exif.Tags{Orientation: 1}, stripped.Tags)
	img, err := jpeg.Decode(bytes.NewReader(b))
	require.NoError(t, err)
	require.Equal(t, want, img.Bounds().Size())
}

// TestLossyWebPKeepsItsColours: the decoder hands out the narrow range of
// television; taken for the full one, black would be grey.
func TestLossyWebPKeepsItsColours(t *testing.T) {
	file, err := os.ReadFile("../testdata/photos/colours.webp")
	require.NoError(t, err)
	s := phototest.NewMemory()
	info, err := receive(t, s, file)
	require.NoError(t, err)
	b, err := s.ReadDerivative(t.Context(), home, info.Sum, photo.Small)
	require.NoError(t, err)
	img, err := jpeg.Decode(bytes.NewReader(b))
	require.NoError(t, err)
	for i, want := range []color.NRGBA{{0, 0, 0, 255}, {255, 255, 255, 255}, {60, 140, 50, 255}, {200, 60, 30, 255}} {
		got := color.NRGBAModel.Convert(img.At(32*i+16, 32)).(color.NRGBA)
		for k, v := range [3]byte{got.R, got.G, got.B} {
			require.InDelta(t, [3]byte{want.R, want.G, want.B}[k], v, 6, "strip %d: %v", i, got)
		}
	}
}

// TestStrippedBeforeHashing is the usual road: the phone stripped, so the photo's
// name is the sum of what is stored.
func TestStrippedBeforeHashing(t *testing.T) {
	onPhone, err := exif.Strip(withPosition(phototest.JPEG(64, 48, 1)))
	require.NoError(t, err)
	info, err := receive(t, phototest.NewMemory(), onPhone.Kept)
	require.NoError(t, err)
	require.Equal(t, info.Sum, info.Kept)
}

func TestProfileReachesTheCopies(t *testing.T) {
	icc := bytes.Repeat([]byte{7}, 500)
	binary.BigEndian.PutUint32(icc, 500)
	copy(icc[36:], "acsp")
	for name, file := range map[string][]byte{
		"jpeg": exif.WithProfile(phototest.JPEG(1500, 100, 1), icc),
		"png":  slices.Insert(phototest.PNG(1500, 100, 1), 33, pngChunk("iCCPx\x00\x00"+string(deflated(icc)))...),
	} {
		t.Run(name, func(t *testing.T) { requireProfile(t, file, icc) })
	}
}

// requireProfile receives a file and looks for the profile in its copies.
func requireProfile(t *testing.T, file, icc []byte) {
	t.Helper()
	s := phototest.NewMemory()
	info, err := receive(t, s, file)
	require.NoError(t, err)
	for _, size := range photo.Sizes {
		b, err := s.ReadDerivative(t.Context(), home, info.Sum, size)
		require.NoError(t, err)
		stripped, err := exif.Strip(b)
		require.NoError(t, err)
		require.Equal(t, icc, stripped.Profile)
	}
}

func TestWordsForEachFault(t *testing.T) {
	seen := map[fault.Code]bool{}
	for _, f := range []*fault.Fault{
		photo.ErrNotImage, photo.ErrTypeUnsupported, photo.ErrAnimated, photo.ErrDamaged, photo.ErrTooLarge, photo.ErrTooManyPixels,
		photo.ErrSumMismatch, photo.ErrQuota, photo.ErrBusy, photo.ErrUnknown, photo.ErrNoDerivative, photo.ErrDamagedAtRest,
	} {
		require.False(t, seen[f.Code], f.Code)
		seen[f.Code] = true
		require.True(t, strings.HasPrefix(string(f.Code), "photo_"), f.Code)
		require.True(t, strings.HasSuffix(f.Words, "."), f.Words)
	}
}

func TestOtherBytesThanPromised(t *testing.T) {
	file, s := phototest.JPEG(64, 48, 1), phototest.NewMemory()
	promised := photo.SumOf(file)
	file[len(file)/2] ^= 1
	_, err := photo.Receive(t.Context(), s, home, promised, bytes.NewReader(file), int64(len(file)), photo.DefaultLimits())
	require.ErrorIs(t, err, photo.ErrSumMismatch)
	require.True(t, photo.Refused(err))
}

func TestShortReader(t *testing.T) {
	file := phototest.JPEG(64, 48, 1)
	_, err := photo.Receive(t.Context(), phototest.NewMemory(), home, photo.SumOf(file), bytes.NewReader(file), int64(len(file))+1, photo.DefaultLimits())
	require.Error(t, err)
	require.False(t, photo.Refused(err))
}

// TestHealingTakesNoRoom: a damaged photo is replaced in a household that is full.
func TestHealingTakesNoRoom(t *testing.T) {
	s, file := phototest.NewMemory(), phototest.JPEG(64, 48, 1)
	info, err := receive(t, s, file)
	require.NoError(t, err)
	damaged := photo.Photo{Info: info, Kept: []byte("x")}
	require.NoError(t, s.Put(t.Context(), home, damaged))
	require.NoError(t, s.SetAside(t.Context(), home, info.Sum))
	limits := photo.DefaultLimits()
	limits.Quota = info.Bytes
	_, err = photo.Receive(t.Context(), s, home, info.Sum, bytes.NewReader(file), int64(len(file)), limits)
	require.NoError(t, err)
}

func TestQuota(t *testing.T) {
	first, second, s := phototest.JPEG(64, 48, 1), phototest.JPEG(64, 48, 2), phototest.NewMemory()
	lim := photo.DefaultLimits()
	lim.Quota = int64(len(first)) + int64(len(second)) - 1
	put := func(hh model.HouseholdID, file []byte) error {
		_, err := photo.Receive(t.Context(), s, hh, photo.SumOf(file), bytes.NewReader(file), int64(len(file)), lim)
		return err
	}
	require.NoError(t, put(home, first))
	err := put(home, second)
	require.ErrorIs(t, err, photo.ErrQuota)
	require.False(t, photo.Refused(err), "it helps to delete photos")
	require.NoError(t, put(home, first), "a retry needs no more room")
	require.NoError(t, put(phototest.Household(2), second), "another household has its own room")
	require.NoError(t, s.Delete(t.Context(), home, photo.SumOf(first)))
	require.NoError(t, put(home, second))
}

// broken is a store whose Put fails.
type broken struct{ *phototest.Memory }

func (broken) Put(context.Context, model.HouseholdID, photo.Photo) error {
	return errors.New("disk full")
}

func TestStoreFailureIsNotARefusal(t *testing.T) {
	_, err := receive(t, broken{phototest.NewMemory()}, phototest.JPEG(64, 48, 1))
	require.ErrorContains(t, err, "disk full")
	require.False(t, photo.Refused(err))
	require.Empty(t, fault.CodeOf(err))
}

// crowd counts how many Receives are at work at once, seen from the store.
type crowd struct {
	*phototest.Memory
	inside, most atomic.Int32
}

func (c *crowd) Usage(ctx context.Context, hh model.HouseholdID) (int64, error) {
	c.most.Store(max(c.most.Load(), c.inside.Add(1)))
	runtime.Gosched()
	return c.Memory.Usage(ctx, hh)
}

func (c *crowd) Put(ctx context.Context, hh model.HouseholdID, p photo.Photo) error {
	defer c.inside.Add(-1)
	return c.Memory.Put(ctx, hh, p)
}

func TestOneAtATime(t *testing.T) {
	s := &crowd{Memory: phototest.NewMemory()}
	var all sync.WaitGroup
	failures := make(chan error, 12)
	for seed := range uint64(12) {
		all.Go(func() {
			file := phototest.JPEG(64, 48, seed)
			_, err := photo.Receive(t.Context(), s, home, photo.SumOf(file), bytes.NewReader(file), int64(len(file)), photo.DefaultLimits())
			failures <- err
		})
	}
	all.Wait()
	close(failures)
	for err := range failures {
		require.NoError(t, err)
	}
	require.EqualValues(t, 1, s.most.Load())
}

// gate is a file that does something when it is first read.
type gate struct {
	*bytes.Reader
	onRead func()
}

func (g gate) ReadAt(p []byte, off int64) (int, error) {
	g.onRead()
	return g.Reader.ReadAt(p, off)
}

func TestContextEndsTheWait(t *testing.T) {
	file := phototest.JPEG(64, 48, 1)
	entered, release, done := make(chan struct{}), make(chan struct{}), make(chan error, 1)
	busy := gate{bytes.NewReader(file), sync.OnceFunc(func() { close(entered); <-release })}
	go func() {
		_, err := photo.Receive(t.Context(), phototest.NewMemory(), home, photo.SumOf(file), busy, int64(len(file)), photo.DefaultLimits())
		done <- err
	}()
	<-entered
	ctx, cancel := context.WithCancel(t.Context())
	waiting := make(chan error, 1)
	go func() {
		_, err := photo.Receive(ctx, phototest.NewMemory(), home, photo.SumOf(file), bytes.NewReader(file), int64(len(file)), photo.DefaultLimits())
		waiting <- err
	}()
	cancel()
	require.ErrorIs(t, <-waiting, context.Canceled)
	close(release)
	require.NoError(t, <-done)
}

// TestFullQueue: while one works and sixteen wait, the next is told to come again, and
// takes no memory meanwhile. Those who waited all get their turn.
func TestFullQueue(t *testing.T) {
	const waiting = 16
	file := phototest.JPEG(64, 48, 1)
	store, entered, release := phototest.NewMemory(), make(chan struct{}), make(chan struct{})
	busy := gate{bytes.NewReader(file), sync.OnceFunc(func() { close(entered); <-release })}
	receive := func(r io.ReaderAt) error {
		_, err := photo.Receive(t.Context(), store, home, photo.SumOf(file), r, int64(len(file)), photo.DefaultLimits())
		return err
	}
	done := make(chan error, 1+2*waiting)
	go func() { done <- receive(busy) }()
	<-entered
	for range 2 * waiting {
		go func() { done <- receive(bytes.NewReader(file)) }()
	}
	for range waiting { // the others cannot end before the first one does
		err := <-done
		require.ErrorIs(t, err, photo.ErrBusy)
		require.False(t, photo.Refused(err), "the same bytes will do later")
	}
	require.ErrorIs(t, receive(bytes.NewReader(file)), photo.ErrBusy)
	close(release)
	for range 1 + waiting {
		require.NoError(t, <-done)
	}
	require.NoError(t, receive(bytes.NewReader(file)))
}

func TestContextEndsTheWork(t *testing.T) {
	for name, file := range map[string][]byte{"jpeg": phototest.JPEG(64, 48, 1), "png": phototest.PNG(64, 48, 1)} {
		t.Run(name, func(t *testing.T) {
			s := phototest.NewMemory()
			ctx, cancel := context.WithCancel(t.Context())
			r := gate{bytes.NewReader(file), cancel}
			_, err := photo.Receive(ctx, s, home, photo.SumOf(file), r, int64(len(file)), photo.DefaultLimits())
			require.ErrorIs(t, err, context.Canceled)
			require.False(t, photo.Refused(err))
			there, err := s.Has(t.Context(), home, photo.SumOf(file))
			require.NoError(t, err)
			require.False(t, there)
		})
	}
}

func TestSumText(t *testing.T) {
	sum := photo.SumOf([]byte("x"))
	parsed, err := photo.ParseSum(sum.String())
	require.NoError(t, err)
	require.Equal(t, sum, parsed)
	for _, text := range []string{"", "ab", sum.String()[1:], sum.String() + "0", strings.ToUpper(sum.String()), "../" + sum.String()[3:], strings.Repeat("g", 64)} {
		_, err := photo.ParseSum(text)
		require.Error(t, err, text)
	}
}

func BenchmarkReceive(b *testing.B) {
	for _, size := range []image.Point{{1280, 960}, {4000, 3000}} {
		b.Run(fmt.Sprint(size), func(b *testing.B) {
			file := withPosition(phototest.JPEG(size.X, size.Y, 1))
			s := phototest.NewMemory()
			b.SetBytes(int64(len(file)))
			b.ReportAllocs()
			for b.Loop() {
				_, err := photo.Receive(b.Context(), s, home, photo.SumOf(file), bytes.NewReader(file), int64(len(file)), photo.DefaultLimits())
				require.NoError(b, err)
			}
		})
	}
}
