package httpapi_test

import (
	"bytes"
	"context"
	"encoding/json"
	"image/jpeg"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/model"
	"leafturn/photo"
	"leafturn/photo/dirstore"
	"leafturn/photo/exif"
	"leafturn/photo/phototest"
)

const photosBase = "/api/v1/households/home/photos/"

// TestPhotoGoesUpAndDown is check 18: what arrives is, byte for byte, what was sent.
func TestPhotoGoesUpAndDown(t *testing.T) {
	r, file := newTusRig(t), photoFile()
	sum := photo.SumOf(file).String()
	u := r.create(file)
	require.Equal(t, "photo_unknown", r.send("GET", photosBase+sum, nil, nil).code())
	require.Equal(t, http.StatusNoContent, r.sendAll(u, file, 0).status)
	r.requireOffset(u, len(file))
	got := r.send("GET", photosBase+sum, nil, nil)
	require.Equal(t, http.StatusOK, got.status)
	sameBytes(t, file, got.body)
	require.Equal(t, "image/jpeg", got.header.Get("Content-Type"))
}

// TestResumeAfterRestart drops the whole server state between pieces.
func TestResumeAfterRestart(t *testing.T) {
	r, file := newTusRig(t), photoFile()
	u := r.create(file)
	require.Equal(t, "100000", r.patch(u, 0, file[:100_000]).offset())
	r.start()
	r.requireOffset(u, 100_000)
	require.Equal(t, http.StatusNoContent, r.sendAll(u, file, 100_000).status)
	r.start()
	r.requireOffset(u, len(file))
	got := r.send("GET", photosBase+photo.SumOf(file).String(), nil, nil)
	sameBytes(t, file, got.body)
}

func TestOtherHouseholdSeesNothing(t *testing.T) {
	r, file := newTusRig(t), photoFile()
	sum := photo.SumOf(file).String()
	u := r.create(file)
	unknown := r.head(tusBase+"/"+strings.Repeat("0", 32), "X-Household", "2")
	foreign := r.head(u, "X-Household", "2")
	require.Equal(t, http.StatusNotFound, foreign.status)
	unknown.header.Del("Date")
	foreign.header.Del("Date")
	require.Equal(t, unknown, foreign)
	require.Equal(t, "upload_unknown", r.patch(u, 0, file[:10], "X-Household", "2").code())
	require.Equal(t, "upload_unknown", r.send("DELETE", u, headers{"X-Household", "2"}, nil).code())
	require.Equal(t, http.StatusNoContent, r.sendAll(u, file, 0).status)
	require.Equal(t, "photo_unknown", r.send("GET", photosBase+sum, headers{"X-Household", "2"}, nil).code())
	require.Equal(t, "photo_unknown", r.send("GET", photosBase+sum+"?size=320", headers{"X-Household", "2"}, nil).code())
}

// TestTwoTabs sends one photo twice at the same time. Both succeed; it is one photo.
func TestTwoTabs(t *testing.T) {
	r, file := newTusRig(t), phototest.JPEG(400, 300, 5)
	first, second := r.create(file), r.create(file)
	require.NotEqual(t, first, second)
	half := len(file) / 2
	require.Equal(t, http.StatusNoContent, r.patch(first, 0, file[:half]).status)
	require.Equal(t, http.StatusNoContent, r.patch(second, 0, file[:half]).status)
	statuses := make(chan int, 2)
	for _, u := range []string{first, second} {
		go func() {
			got, _ := r.do("PATCH", u, pieceHeaders(half), file[half:])
			statuses <- got.status
		}()
	}
	require.Equal(t, []int{http.StatusNoContent, http.StatusNoContent}, []int{<-statuses, <-statuses})
	used, err := r.store.Usage(t.Context(), phototest.Household(1))
	require.NoError(t, err)
	require.EqualValues(t, len(file), used)
}

// TestSentOncePerHousehold: a second phone, or the same one again, begins an upload of
// a photo that is here and need not send a byte. Another household has to.
func TestSentOncePerHousehold(t *testing.T) {
	r, file := newTusRig(t), phototest.JPEG(400, 300, 5)
	require.Equal(t, http.StatusNoContent, r.sendAll(r.create(file), file, 0).status)
	begin := func(h ...string) reply {
		return r.send("POST", tusBase, append(headers{"Upload-Length", strconv.Itoa(len(file)), "Upload-Metadata", metadataFor(file)}, h...), nil)
	}
	got := begin()
	require.Equal(t, http.StatusCreated, got.status)
	require.Equal(t, strconv.Itoa(len(file)), got.offset())
	r.requireOffset(got.header.Get("Location"), len(file))
	got = r.patch(got.header.Get("Location"), 0, file)
	require.Equal(t, http.StatusConflict, got.status, "a client that sends all the same hears that nothing is missing")
	require.Equal(t, strconv.Itoa(len(file)), got.offset())
	require.Empty(t, begin("X-Household", "2").offset())
}

// TestLostPhotosAreAskedFor: a phone learns what the server has not, sends it, and a
// damaged photo is healed that way.
func TestLostPhotosAreAskedFor(t *testing.T) {
	r, dir := newTusRig(t), t.TempDir()
	store, err := dirstore.Open(dir)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, store.Close()) })
	r.store = store
	r.start()
	kept, lost, damaged := phototest.JPEG(40, 30, 1), phototest.JPEG(40, 30, 2), phototest.JPEG(40, 30, 3)
	for _, file := range [][]byte{kept, damaged} {
		require.Equal(t, http.StatusNoContent, r.sendAll(r.create(file), file, 0).status)
	}
	sums := []photo.Sum{photo.SumOf(kept), photo.SumOf(lost), photo.SumOf(damaged)}
	missing := func(h ...string) []photo.Sum {
		body, err := json.Marshal(map[string]any{"sums": sums})
		require.NoError(t, err)
		got := r.send("POST", photosBase+"missing", h, body)
		require.Equal(t, http.StatusOK, got.status)
		var answer struct{ Missing []photo.Sum }
		require.NoError(t, json.Unmarshal(got.body, &answer))
		return answer.Missing
	}
	require.Equal(t, sums[1:2], missing())
	require.Equal(t, sums, missing("X-Household", "2"), "another household's photos are not here")

	text := sums[2].String()
	require.NoError(t, os.WriteFile(filepath.Join(dir, phototest.Household(1).String(), text[:2], text[2:4], text+".jpg"), slices.Repeat([]byte{7}, len(damaged)), 0o600))
	found, _, err := photo.Scrub(t.Context(), store, phototest.Household(1))
	require.NoError(t, err)
	require.Equal(t, sums[2:], found)
	require.Equal(t, "photo_damaged_at_rest", r.send("GET", photosBase+text, nil, nil).code())
	require.Equal(t, sums[1:], missing())
	for _, file := range [][]byte{lost, damaged} {
		u := r.create(file)
		r.requireOffset(u, 0)
		require.Equal(t, http.StatusNoContent, r.sendAll(u, file, 0).status)
	}
	require.Empty(t, missing())
	sameBytes(t, damaged, r.send("GET", photosBase+text, nil, nil).body)
}

func TestAskingAboutPhotosIsBounded(t *testing.T) {
	r := newTusRig(t)
	ask := func(n int) reply {
		body, err := json.Marshal(map[string]any{"sums": make([]photo.Sum, n)})
		require.NoError(t, err)
		return r.send("POST", photosBase+"missing", nil, body)
	}
	require.Equal(t, http.StatusOK, ask(500).status)
	require.Equal(t, "photo_too_many_asked", ask(501).code())
	require.JSONEq(t, `{"missing":[]}`, string(ask(0).body))
	for _, body := range []string{"", "[]", `{"sums":["x"]}`, `{"sums":"` + photo.SumOf(nil).String() + `"}`, `{"sums":["../../etc/passwd"]}`} {
		require.Equal(t, "request_invalid", r.send("POST", photosBase+"missing", nil, []byte(body)).code(), body)
	}
}

// TestBusyWithPhotos: when too many photos are being worked on, the client hears when
// to send the last piece again, and its upload is still there.
func TestBusyWithPhotos(t *testing.T) {
	r, file := newTusRig(t), phototest.JPEG(400, 300, 5)
	receive := r.finish
	r.finish = func(context.Context, model.HouseholdID, photo.Sum, io.ReaderAt, int64) error { return photo.ErrBusy }
	r.start()
	u := r.create(file)
	half := len(file) / 2
	require.Equal(t, http.StatusNoContent, r.patch(u, 0, file[:half]).status)
	require.Equal(t, "photo_busy", r.patch(u, half, file[half:]).code())
	r.requireOffset(u, half)
	r.finish = receive
	r.start()
	require.Equal(t, http.StatusNoContent, r.patch(u, half, file[half:]).status)
}

// TestRefusedPhotos: the last piece gets the answer, and the upload is gone.
func TestRefusedPhotos(t *testing.T) {
	for name, c := range map[string]struct {
		file []byte
		code string
	}{
		"html":      {[]byte("<!doctype html><script>alert(1)</script>"), "photo_not_image"},
		"heic":      {[]byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic"), "photo_type_unsupported"},
		"truncated": {photoFile()[:1000], "photo_damaged"},
	} {
		t.Run(name, func(t *testing.T) {
			r := newTusRig(t)
			u := r.create(c.file)
			require.Equal(t, c.code, r.sendAll(u, c.file, 0).code())
			require.Equal(t, http.StatusNotFound, r.head(u).status)
			require.Equal(t, "photo_unknown", r.send("GET", photosBase+photo.SumOf(c.file).String(), nil, nil).code())
		})
	}
}

// TestOtherBytesThanPromised: every piece arrived well, but the whole is not what
// was promised.
func TestOtherBytesThanPromised(t *testing.T) {
	r, file := newTusRig(t), photoFile()
	u := r.create(file)
	changed := slices.Clone(file)
	changed[len(changed)/2] ^= 1
	require.Equal(t, "photo_sum_mismatch", r.sendAll(u, changed, 0).code())
	require.Equal(t, http.StatusNotFound, r.head(u).status)
}

// TestFullHousehold: the upload waits at the last piece until there is room.
func TestFullHousehold(t *testing.T) {
	r, file := newTusRig(t), photoFile()
	r.quota = int64(len(file)) - 1
	u := r.create(file)
	require.Equal(t, http.StatusNoContent, r.sendAll(u, file[:pieceSize], 0).status)
	require.Equal(t, "photo_quota", r.sendAll(u, file, pieceSize).code())
	r.quota++
	from := len(file) - len(file)%pieceSize
	r.requireOffset(u, from)
	require.Equal(t, http.StatusNoContent, r.sendAll(u, file, from).status)
}

// TestNamesLeadNowhere: the metadata names a file outside; nothing may appear there.
func TestNamesLeadNowhere(t *testing.T) {
	r, file := newTusRig(t), phototest.JPEG(40, 30, 1)
	require.Contains(t, metadataFor(file), "filename Li4vLi4v") // ../../
	require.Equal(t, http.StatusNoContent, r.sendAll(r.create(file), file, 0).status)
	entries, err := os.ReadDir(filepath.Dir(r.dir))
	require.NoError(t, err)
	for _, e := range entries {
		require.NotContains(t, e.Name(), "leaf.jpg")
	}
	require.NoFileExists(t, "/etc/leaf.jpg")
}

func TestPhotoHeaders(t *testing.T) {
	r, file := newTusRig(t), photoFile()
	sum := photo.SumOf(file).String()
	require.Equal(t, http.StatusNoContent, r.sendAll(r.create(file), file, 0).status)
	for query, long := range map[string]int{"": 1400, "?size=320": 320, "?size=1280": 1280} {
		t.Run("size "+query, func(t *testing.T) {
			got := r.send("GET", photosBase+sum+query, nil, nil)
			require.Equal(t, http.StatusOK, got.status)
			require.Equal(t, "image/jpeg", got.header.Get("Content-Type"))
			require.Equal(t, "nosniff", got.header.Get("X-Content-Type-Options"))
			require.Equal(t, "private, max-age=31536000, immutable", got.header.Get("Cache-Control"))
			require.Contains(t, got.header.Get("Content-Security-Policy"), "sandbox")
			img, err := jpeg.Decode(bytes.NewReader(got.body))
			require.NoError(t, err)
			require.Equal(t, long, img.Bounds().Dx())
			etag := got.header.Get("ETag")
			again := r.send("GET", photosBase+sum+query, headers{"If-None-Match", `"other", W/` + etag}, nil)
			require.Equal(t, http.StatusNotModified, again.status)
			require.Equal(t, etag, again.header.Get("ETag"))
			require.Empty(t, again.body)
			again = r.send("GET", photosBase+sum+query, headers{"If-None-Match", `"other"`}, nil)
			require.Equal(t, http.StatusOK, again.status)
			head := r.send("HEAD", photosBase+sum+query, nil, nil)
			require.Equal(t, http.StatusOK, head.status)
			require.Equal(t, etag, head.header.Get("ETag"))
		})
	}
}

func TestPhotoRefusals(t *testing.T) {
	r, file := newTusRig(t), phototest.JPEG(40, 30, 1)
	sum := photo.SumOf(file).String()
	require.Equal(t, http.StatusNoContent, r.sendAll(r.create(file), file, 0).status)
	for path, code := range map[string]string{
		strings.Repeat("0", 64):               "photo_unknown",
		"x":                                   "photo_unknown",
		"..%2f..%2fetc%2fpasswd":              "photo_unknown",
		strings.ToUpper(sum):                  "photo_unknown",
		sum + "%00":                           "photo_unknown",
		sum + "?size=321":                     "photo_size_unknown",
		sum + "?size=0":                       "photo_size_unknown",
		sum + "?size=-320":                    "photo_size_unknown",
		sum + "?size=320%27":                  "photo_size_unknown",
		strings.Repeat("0", 64) + "?size=320": "photo_unknown",
	} {
		require.Equal(t, code, r.send("GET", photosBase+path, nil, nil).code(), path)
	}
}

// TestSmallPhotoAtLargeSize: asked for a copy larger than the photo, the photo
// itself is the answer.
func TestSmallPhotoAtLargeSize(t *testing.T) {
	r, file := newTusRig(t), phototest.PNG(40, 30, 1)
	require.Equal(t, http.StatusNoContent, r.sendAll(r.create(file), file, 0).status)
	got := r.send("GET", photosBase+photo.SumOf(file).String()+"?size=1280", nil, nil)
	require.Equal(t, http.StatusOK, got.status)
	require.Equal(t, "image/png", got.header.Get("Content-Type"))
	sameBytes(t, file, got.body)
}

// TestPositionStaysHome sends a photo that nobody stripped. What is handed out must
// hold no position.
func TestPositionStaysHome(t *testing.T) {
	file, err := os.ReadFile("../../testdata/photos/leaf-underside-with-position.jpg")
	require.NoError(t, err)
	const position = "\x88\x25\x00\x04" // the tag that points to it
	require.Contains(t, string(file), position)
	require.Contains(t, string(file), "GPSLatitude")
	r := newTusRig(t)
	require.Equal(t, http.StatusNoContent, r.sendAll(r.create(file), file, 0).status)
	for _, query := range []string{"", "?size=320", "?size=1280"} {
		got := r.send("GET", photosBase+photo.SumOf(file).String()+query, nil, nil)
		require.Equal(t, http.StatusOK, got.status)
		require.NotContains(t, string(got.body), position)
		require.NotContains(t, string(got.body), "GPS")
		stripped, err := exif.Strip(got.body)
		require.NoError(t, err)
		sameBytes(t, stripped.Kept, got.body)
	}
}

// TestDamagedPhotoIsNotServed flips a bit on the disk.
func TestDamagedPhotoIsNotServed(t *testing.T) {
	r, file, dir := newTusRig(t), phototest.JPEG(40, 30, 1), t.TempDir()
	store, err := dirstore.Open(dir)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, store.Close()) })
	r.store = store
	r.start()
	require.Equal(t, http.StatusNoContent, r.sendAll(r.create(file), file, 0).status)
	sum := photo.SumOf(file).String()
	name := filepath.Join(dir, phototest.Household(1).String(), sum[:2], sum[2:4], sum+".jpg")
	changed := slices.Clone(file)
	changed[len(changed)/2] ^= 1
	require.NoError(t, os.WriteFile(name, changed, 0o600))
	require.Equal(t, "photo_damaged_at_rest", r.send("GET", photosBase+sum, nil, nil).code())
	require.Equal(t, http.StatusOK, r.send("GET", photosBase+sum+"?size=320", nil, nil).status, "the copy is sound")
}
