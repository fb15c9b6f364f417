package httpapi_test

import (
	"crypto/sha1"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"io"
	"net"
	"net/http"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// TestTus checks the protocol over plain sockets, one subtest for each check of
// our list. The bodies are arbitrary bytes; uploadsphoto_test.go sends photos.
func TestTus(t *testing.T) {
	for _, check := range []struct {
		name string
		run  func(*testing.T)
	}{
		{"01 OPTIONS", tusOptions},
		{"02 another version is 412", tusVersions},
		{"03-06 create and HEAD", tusCreate},
		{"07-10 PATCH and its refusals", tusPatch},
		{"11 what arrived before a break is kept", tusReset},
		{"12-13 a stalled piece holds nobody up", tusStall},
		{"14-15 four at one offset: one wins, no byte is doubled", tusFour},
		{"16 chunked body", tusChunked},
		{"17, 19 past the length", tusPastEnd},
		{"20 an empty file is no photo", tusEmpty},
		{"21 bad lengths and metadata", tusBadPromise},
		{"22 above Tus-Max-Size is 413", tusTooLong},
		{"23 unknown uploads", tusUnknown},
		{"24 X-HTTP-Method-Override", tusOverride},
		{"25 Expect: 100-continue", tusExpect},
		{"26 create with the first piece", tusCreateWith},
		{"27-29 checksum", tusChecksum},
		{"30 expiry", tusExpiry},
		{"31 DELETE", tusDelete},
		{"32 no foreign origin is let in", tusOrigin},
		{"33 memory", tusMemory},
	} {
		t.Run(check.name, check.run)
	}
}

// tusFile is more than two pieces of arbitrary bytes.
var tusFile = randomBytes(1_200_000)

func tusOptions(t *testing.T) {
	got := newTusProtocolRig(t).send("OPTIONS", tusBase, headers{"Tus-Resumable", ""}, nil)
	require.Equal(t, http.StatusNoContent, got.status)
	require.Equal(t, "1.0.0", got.header.Get("Tus-Version"))
	require.Equal(t, "creation,creation-with-upload,checksum,expiration,termination", got.header.Get("Tus-Extension"))
	require.Equal(t, "sha1,sha256", got.header.Get("Tus-Checksum-Algorithm"))
	require.Equal(t, strconv.Itoa(4<<20), got.header.Get("Tus-Max-Size"))
}

func tusVersions(t *testing.T) {
	r := newTusProtocolRig(t)
	for _, version := range []string{"0.2.2", "2.0.0", ""} {
		got := r.send("POST", tusBase, headers{"Tus-Resumable", version, "Upload-Length", "5", "Upload-Metadata", metadataFor(nil)}, nil)
		require.Equal(t, http.StatusPreconditionFailed, got.status)
		require.Equal(t, "1.0.0", got.header.Get("Tus-Version"))
		require.Equal(t, "upload_version", got.code())
	}
}

func tusCreate(t *testing.T) {
	r := newTusProtocolRig(t)
	got := r.send("POST", tusBase, headers{"Upload-Length", "5", "Upload-Metadata", metadataFor([]byte("12345"))}, nil)
	require.Equal(t, http.StatusCreated, got.status)
	require.Equal(t, "1.0.0", got.header.Get("Tus-Resumable"))
	location := got.header.Get("Location")
	require.True(t, strings.HasPrefix(location, tusBase+"/"), "relative, so that it stays on the asked host: %s", location)
	got = r.head(location)
	require.Equal(t, http.StatusOK, got.status)
	require.Equal(t, "0", got.offset())
	require.Equal(t, "5", got.header.Get("Upload-Length"))
	require.Equal(t, "no-store", got.header.Get("Cache-Control"))
	require.Equal(t, "1.0.0", got.header.Get("Tus-Resumable"))
	require.Equal(t, metadataFor([]byte("12345")), got.header.Get("Upload-Metadata"))
}

func tusPatch(t *testing.T) {
	r := newTusProtocolRig(t)
	u := r.create(tusFile)
	got := r.patch(u, 0, tusFile[:1000])
	require.Equal(t, http.StatusNoContent, got.status)
	require.Equal(t, "1000", got.offset())
	got = r.patch(u, 0, tusFile[:1000])
	require.Equal(t, http.StatusConflict, got.status)
	require.Equal(t, "1000", got.offset(), "the answer says where to go on")
	require.Equal(t, "upload_offset", got.code())
	got = r.send("PATCH", u, headers{"Content-Type", "image/jpeg", "Upload-Offset", "1000"}, []byte("x"))
	require.Equal(t, http.StatusUnsupportedMediaType, got.status)
	for _, offset := range []string{"-1", "+1000", "1000.0", "0x3e8", "abc", "", "99999999999999999999", "1 000"} {
		got = r.patch(u, offset, []byte("x"))
		require.Equal(t, http.StatusBadRequest, got.status, offset)
		require.Equal(t, "upload_header", got.code(), offset)
	}
	r.requireOffset(u, 1000)
}

// tusReset breaks the connection in the middle of a piece, in order and by force. Of
// the orderly end nothing is lost; a reset may drop what the kernel had not handed on.
func tusReset(t *testing.T) {
	for name, c := range map[string]struct {
		cut   func(*net.TCPConn) error
		least int
	}{
		"closed": {(*net.TCPConn).CloseWrite, 700_000},
		"reset":  {func(c *net.TCPConn) error { return errors.Join(c.SetLinger(0), c.Close()) }, 500_000},
	} {
		t.Run(name, func(t *testing.T) {
			r := newTusProtocolRig(t)
			u := r.create(tusFile)
			require.Equal(t, "500000", r.patch(u, 0, tusFile[:500_000]).offset())
			conn := r.dial()
			_, err := io.WriteString(conn, head("PATCH", u, pieceHeaders(500_000), 500_000)+string(tusFile[500_000:700_000]))
			require.NoError(t, err)
			require.NoError(t, c.cut(conn.(*net.TCPConn)))
			if name == "closed" { // wait for the answer: by then everything is counted
				got, err := readReply(conn, "PATCH")
				require.NoError(t, err)
				require.Equal(t, http.StatusConflict, got.status)
				require.Equal(t, "upload_cut", got.code())
				require.Equal(t, "700000", got.offset())
				require.True(t, got.closes)
			}
			offset := r.offset(u)
			require.GreaterOrEqual(t, offset, c.least)
			require.LessOrEqual(t, offset, 700_000)
			r.finishFrom(u, tusFile, offset)
		})
	}
}

// tusStall leaves a piece unfinished on a connection that stays open. Whoever comes
// next ends it, at once, and has what it brought.
func tusStall(t *testing.T) {
	r := newTusProtocolRig(t)
	u := r.create(tusFile)
	stalled := r.dial()
	_, err := io.WriteString(stalled, head("PATCH", u, pieceHeaders(0), 500_000)+string(tusFile[:300_000]))
	require.NoError(t, err)
	offset := r.offset(u)
	for offset == 0 { // asked before the piece had come in
		offset = r.offset(u)
	}
	require.LessOrEqual(t, offset, 300_000)
	got, err := readReply(stalled, "PATCH")
	require.NoError(t, err, "the older request is answered")
	require.Equal(t, http.StatusConflict, got.status)
	require.Equal(t, strconv.Itoa(offset), got.offset())
	require.True(t, got.closes)

	again := r.dial()
	_, err = io.WriteString(again, head("PATCH", u, pieceHeaders(offset), 500_000)+string(tusFile[offset:offset+100_000]))
	require.NoError(t, err)
	r.finishFrom(u, tusFile, offset) // takes over, or hears how far the other came
}

// tusFour sends one piece four times at once. When each is there as a whole, exactly
// one wins. While they are on their way the newest ends the others. Either way the
// file is right at the end.
func tusFour(t *testing.T) {
	for _, size := range []int{4000, 500_000} {
		r := newTusProtocolRig(t)
		u := r.create(tusFile)
		replies := make(chan reply, 4)
		for range 4 {
			go func() {
				got, _ := r.do("PATCH", u, pieceHeaders(0), tusFile[:size])
				replies <- got
			}()
		}
		count := map[int]int{}
		for range 4 {
			count[(<-replies).status]++
		}
		require.LessOrEqual(t, count[http.StatusNoContent], 1)
		if size == 4000 {
			require.Equal(t, map[int]int{http.StatusNoContent: 1, http.StatusConflict: 3}, count)
		}
		offset := r.offset(u)
		require.LessOrEqual(t, offset, size)
		r.finishFrom(u, tusFile, offset)
	}
}

func tusChunked(t *testing.T) {
	r := newTusProtocolRig(t)
	u := r.create([]byte("0123456789"))
	conn := r.dial()
	_, err := io.WriteString(conn, head("PATCH", u, pieceHeaders(0, "Transfer-Encoding", "chunked"), -1)+"4\r\n0123\r\n6\r\n456789\r\n0\r\n\r\n")
	require.NoError(t, err)
	got, err := readReply(conn, "PATCH")
	require.NoError(t, err)
	require.Equal(t, http.StatusNoContent, got.status)
	require.Equal(t, "10", got.offset())
}

func tusPastEnd(t *testing.T) {
	r := newTusProtocolRig(t)
	u := r.create([]byte("01234"))
	got := r.patch(u, 0, []byte("0123456789"))
	require.Equal(t, http.StatusRequestEntityTooLarge, got.status)
	require.Equal(t, "upload_past_end", got.code())
	r.requireOffset(u, 0)
	require.Equal(t, http.StatusNoContent, r.patch(u, 0, []byte("01234")).status)
	require.Equal(t, http.StatusRequestEntityTooLarge, r.patch(u, 5, []byte("tail")).status)
	r.requireOffset(u, 5)
}

func tusEmpty(t *testing.T) {
	got := newTusProtocolRig(t).send("POST", tusBase, headers{"Upload-Length", "0", "Upload-Metadata", metadataFor(nil)}, nil)
	require.Equal(t, "photo_not_image", got.code())
}

func tusBadPromise(t *testing.T) {
	r := newTusProtocolRig(t)
	meta := metadataFor(nil)
	for _, h := range []headers{
		{"Upload-Metadata", meta},
		{"Upload-Length", "-5", "Upload-Metadata", meta},
		{"Upload-Length", "x", "Upload-Metadata", meta},
		{"Upload-Defer-Length", "1", "Upload-Metadata", meta},
		{"Upload-Length", "5", "Upload-Defer-Length", "1", "Upload-Metadata", meta},
		{"Upload-Length", "5"},
		{"Upload-Length", "5", "Upload-Metadata", "filename eA=="},
		{"Upload-Length", "5", "Upload-Metadata", "sha256"},
		{"Upload-Length", "5", "Upload-Metadata", "sha256 !!"},
		{"Upload-Length", "5", "Upload-Metadata", "sha256 " + base64.StdEncoding.EncodeToString([]byte("../../x"))},
	} {
		require.Equal(t, http.StatusBadRequest, r.send("POST", tusBase, h, nil).status, h)
	}
}

func tusTooLong(t *testing.T) {
	got := newTusProtocolRig(t).send("POST", tusBase, headers{"Upload-Length", strconv.Itoa(4<<20 + 1), "Upload-Metadata", metadataFor(nil)}, nil)
	require.Equal(t, http.StatusRequestEntityTooLarge, got.status)
	require.Equal(t, "photo_too_large", got.code())
}

func tusUnknown(t *testing.T) {
	r := newTusProtocolRig(t)
	for _, id := range []string{strings.Repeat("0", 32), "x", "..%2f..%2fetc%2fpasswd", "%00", "%2e%2e", strings.Repeat("%2e", 32), strings.Repeat("F", 32)} {
		got := r.head(tusBase + "/" + id)
		require.Equal(t, http.StatusNotFound, got.status, id)
		require.Empty(t, got.offset())
		require.Equal(t, "upload_unknown", r.patch(tusBase+"/"+id, 0, []byte("x")).code(), id)
	}
}

func tusOverride(t *testing.T) {
	r := newTusProtocolRig(t)
	u := r.create([]byte("abcd"))
	got := r.send("POST", u, pieceHeaders(0, "X-HTTP-Method-Override", "PATCH"), []byte("ab"))
	require.Equal(t, http.StatusNoContent, got.status)
	require.Equal(t, "2", got.offset())
	got = r.send("POST", u, headers{"X-HTTP-Method-Override", "HEAD"}, nil)
	require.Equal(t, "2", got.offset())
	require.Equal(t, http.StatusMethodNotAllowed, r.send("POST", u, headers{"X-HTTP-Method-Override", "GET"}, nil).status)
	require.Equal(t, http.StatusNoContent, r.send("POST", u, headers{"X-HTTP-Method-Override", "DELETE"}, nil).status)
	require.Equal(t, http.StatusNotFound, r.head(u).status)
}

func tusExpect(t *testing.T) {
	r := newTusProtocolRig(t)
	u, conn := r.create([]byte("abcd")), r.dial()
	_, err := io.WriteString(conn, head("PATCH", u, pieceHeaders(0, "Expect", "100-continue"), 4))
	require.NoError(t, err)
	line := make([]byte, len("HTTP/1.1 100 Continue\r\n\r\n"))
	_, err = io.ReadFull(conn, line)
	require.NoError(t, err)
	require.Equal(t, "HTTP/1.1 100 Continue\r\n\r\n", string(line))
	_, err = io.WriteString(conn, "abcd")
	require.NoError(t, err)
	got, err := readReply(conn, "PATCH")
	require.NoError(t, err)
	require.Equal(t, http.StatusNoContent, got.status)
}

func tusCreateWith(t *testing.T) {
	r := newTusProtocolRig(t)
	h := headers{"Upload-Length", "4", "Upload-Metadata", metadataFor([]byte("abcd"))}
	for _, piece := range []string{"abcd", "ab"} {
		got := r.send("POST", tusBase, append(h, "Content-Type", "application/offset+octet-stream"), []byte(piece))
		require.Equal(t, http.StatusCreated, got.status)
		require.Equal(t, strconv.Itoa(len(piece)), got.offset())
		r.requireOffset(got.header.Get("Location"), len(piece))
	}
	require.Equal(t, http.StatusUnsupportedMediaType, r.send("POST", tusBase, append(h, "Content-Type", "text/plain"), []byte("ab")).status)
	got := r.send("POST", tusBase, append(h, "Content-Type", "application/offset+octet-stream"), []byte("abcdef"))
	require.Equal(t, "upload_past_end", got.code())
	require.Empty(t, got.header.Get("Location"))
}

func tusChecksum(t *testing.T) {
	r := newTusProtocolRig(t)
	u := r.create([]byte("abcdefgh"))
	sum1 := sha1.Sum([]byte("abcd"))
	sum256 := sha256.Sum256([]byte("efgh"))
	b64 := base64.StdEncoding.EncodeToString
	got := r.patch(u, 0, []byte("abce"), "Upload-Checksum", "sha1 "+b64(sum1[:]))
	require.Equal(t, 460, got.status)
	require.Equal(t, "upload_checksum", got.code())
	r.requireOffset(u, 0)
	for _, header := range []string{"nope " + b64(sum1[:]), "md5 " + b64(sum1[:16]), "sha1 !!", "sha1", "sha256 " + b64(sum1[:])} {
		require.Equal(t, http.StatusBadRequest, r.patch(u, 0, []byte("abcd"), "Upload-Checksum", header).status, header)
	}
	require.Equal(t, http.StatusNoContent, r.patch(u, 0, []byte("abcd"), "Upload-Checksum", "sha1 "+b64(sum1[:])).status)
	require.Equal(t, http.StatusNoContent, r.patch(u, 4, []byte("efgh"), "Upload-Checksum", "sha256 "+b64(sum256[:])).status)
	r.requireOffset(u, 8)
}

func tusExpiry(t *testing.T) {
	r := newTusProtocolRig(t)
	u := r.create(tusFile)
	got := r.patch(u, 0, tusFile[:10])
	expires, err := http.ParseTime(got.header.Get("Upload-Expires"))
	require.NoError(t, err)
	require.Equal(t, epoch.Add(48*time.Hour), expires)
	r.advance(48*time.Hour + time.Second)
	require.Equal(t, http.StatusGone, r.head(u).status)
	require.Equal(t, "upload_expired", r.patch(u, 10, tusFile[10:20]).code())
	n, err := r.desk.Sweep(t.Context())
	require.NoError(t, err)
	require.Equal(t, 1, n)
	require.Equal(t, http.StatusNotFound, r.head(u).status)
}

func tusDelete(t *testing.T) {
	r := newTusProtocolRig(t)
	u := r.create(tusFile)
	require.Equal(t, http.StatusNoContent, r.send("DELETE", u, nil, nil).status)
	require.Equal(t, http.StatusNotFound, r.head(u).status)
	require.Equal(t, http.StatusNotFound, r.send("DELETE", u, nil, nil).status)
}

func tusOrigin(t *testing.T) {
	got := newTusProtocolRig(t).send("OPTIONS", tusBase, headers{"Origin", "http://evil.test", "Access-Control-Request-Method", "PATCH"}, nil)
	for name := range got.header {
		require.False(t, strings.HasPrefix(name, "Access-Control-"), name)
	}
}
