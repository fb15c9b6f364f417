package model_test

import (
	"crypto/sha1"
	"encoding/binary"
	"encoding/json"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model"
)

// RFC 9562 prints worked examples of name-based ids: appendix A.4 for version 5
// and appendix B.2 for version 8 with SHA-256.
func TestPublishedUUIDs(t *testing.T) {
	const name = "www.example.com"
	require.Equal(t, "2ed6657d-e927-568b-95e1-2665a8aea6a2", uuid.NewSHA1(uuid.NameSpaceDNS, []byte(name)).String())
	named := append(uuid.NameSpaceDNS[:], name...)
	require.Equal(t, "5c146b14-3c52-8afd-938a-375d0df1fbf6", model.DeviceIDOf(named).String())
}

// The task id is worked out here from SHA-1 itself, without the uuid package.
func TestTaskIDIsVersion5OfItsKey(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h, k := model.HouseholdID(anyUUID(t, "household")), anyKey(t)
		name := append(append([]byte{}, h[:]...), byte(k.Rule))
		name = append(name, k.Subject[:]...)
		name = binary.BigEndian.AppendUint32(name, k.Ordinal)
		sum := sha1.Sum(name)
		want := uuid.UUID(sum[:16])
		want[6], want[8] = want[6]&0x0f|0x50, want[8]&0x3f|0x80
		require.Equal(t, want.String(), k.ID(h).String())
		require.Equal(t, uuid.Version(5), k.ID(h).UUID().Version())
	})
}

// Phones of different ages must name one task alike, so an id once given is kept
// here for good.
func TestTaskIDNeverChanges(t *testing.T) {
	h := model.HouseholdID{0: 1, 15: 2}
	for want, k := range map[string]model.TaskKey{
		"dd724510-de14-54db-91af-c74afa08b545": {Rule: model.RuleRound, Subject: uuid.UUID{0: 7}, Ordinal: 1},
		"66b5a0b7-6158-5686-9f02-99b8dfbf8ef8": {Rule: model.RuleSpray, Subject: uuid.UUID{0: 7}, Ordinal: 300},
	} {
		require.Equal(t, want, k.ID(h).String())
	}
}

func TestTaskIDsDiffer(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h, k, l := model.HouseholdID(anyUUID(t, "household")), anyKey(t), anyKey(t)
		require.Equal(t, k == l, k.ID(h) == l.ID(h))
		require.NotEqual(t, k.ID(h), k.ID(model.HouseholdID(uuid.UUID{9})))
	})
}

func TestIDText(t *testing.T) {
	id := model.PlantID{0: 0xab, 15: 1}
	back, err := model.ParseID[model.Plant]("AB000000-0000-0000-0000-000000000001")
	require.NoError(t, err)
	require.Equal(t, id, back)
	_, err = model.ParseID[model.Plant]("monstera")
	require.Error(t, err)
	text, err := json.Marshal(map[model.PlantID]bool{id: true})
	require.NoError(t, err)
	require.JSONEq(t, `{"ab000000-0000-0000-0000-000000000001":true}`, string(text))
	var read map[model.PlantID]bool
	require.NoError(t, json.Unmarshal(text, &read))
	require.True(t, read[id])
	require.True(t, model.PlantID{}.IsZero())
	require.False(t, id.IsZero())
}

func TestHouseholdIDCommitsToItsFounder(t *testing.T) {
	one := model.HouseholdIDOf([]byte("key"), [16]byte{1})
	require.Equal(t, one, model.HouseholdIDOf([]byte("key"), [16]byte{1}))
	require.NotEqual(t, one, model.HouseholdIDOf([]byte("other"), [16]byte{1}))
	require.NotEqual(t, one, model.HouseholdIDOf([]byte("key"), [16]byte{2}))
	require.Equal(t, uuid.Version(8), one.UUID().Version())
	require.Equal(t, uuid.RFC4122, one.UUID().Variant())
}

func TestFactIDsAreInOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := anyFactID(t, "a"), anyFactID(t, "b")
		require.Equal(t, -b.Compare(a), a.Compare(b))
		require.Equal(t, a == b, a.Compare(b) == 0)
		if a.Device == b.Device {
			require.Equal(t, a.Seq < b.Seq, a.Compare(b) < 0)
		} else {
			require.Equal(t, a.Device.String() < b.Device.String(), a.Compare(b) < 0)
		}
	})
	require.True(t, model.FactID{}.IsZero())
}

func anyUUID(t *rapid.T, label string) uuid.UUID {
	return uuid.UUID(rapid.SliceOfN(rapid.Byte(), 16, 16).Draw(t, label))
}

func anyKey(t *rapid.T) model.TaskKey {
	return model.TaskKey{
		Rule:    model.Rule(rapid.IntRange(1, 4).Draw(t, "rule")),
		Subject: uuid.UUID{0: byte(rapid.IntRange(1, 2).Draw(t, "subject"))},
		Ordinal: rapid.Uint32Range(1, 3).Draw(t, "ordinal"),
	}
}

func anyFactID(t *rapid.T, label string) model.FactID {
	return model.FactID{
		Device: model.DeviceID{0: byte(rapid.IntRange(0, 1).Draw(t, label+" device")), 9: byte(rapid.IntRange(0, 1).Draw(t, label+" low"))},
		Seq:    rapid.Uint64Range(1, 3).Draw(t, label+" seq"),
	}
}
