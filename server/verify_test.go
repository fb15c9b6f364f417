package main

import (
	"context"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/photo/phototest"
)

// TestVerify reads the data of a server that a phone has used, twice: as it is, and
// after a photo's file has gone.
func TestVerify(t *testing.T) {
	ctx, data := context.Background(), t.TempDir()
	r := serve(t, data)
	a, _ := sdkPair(t, r)
	sum, err := a.AddPhoto(ctx, phototest.JPEG(60, 40, 1))
	require.NoError(t, err)
	_, err = a.Do(ctx, replica.Seen(&model.Inspection{Plant: model.PlantID(uuid.New()), Photos: []model.PhotoSum{sum}}))
	require.NoError(t, err)
	s := a.connect(t, r)
	require.NoError(t, a.Sync(ctx, s))
	require.NoError(t, a.Upload(ctx, s, nil))

	_, says, code := finish(t, command(t, "verify", "--data", data))
	require.Equal(t, 2, code, "the server is running on it")
	require.Contains(t, says, data)
	require.Equal(t, 0, r.interrupt())

	out, _, code := finish(t, command(t, "verify", "--data", data))
	require.Equal(t, 0, code)
	require.Regexp(t, `household \S+: sound, \d+ entries, 1 photos, 0 that no entry shows`, out)

	require.NoError(t, filepath.WalkDir(filepath.Join(data, "photos"), func(path string, d fs.DirEntry, err error) error {
		if err == nil && strings.Contains(d.Name(), sum.String()) {
			err = os.Remove(path)
		}
		return err
	}))
	out, says, code = finish(t, command(t, "verify", "--data", data))
	require.Equal(t, 2, code)
	require.Contains(t, out, "NOT SOUND")
	require.Contains(t, out, "photo "+sum.String()+" is not here")
	require.Contains(t, says, "phones")
}
