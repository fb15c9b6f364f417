package oplog

import (
	"bytes"
	"fmt"
	"reflect"
	"testing"

	"github.com/stretchr/testify/require"

	"leafturn/sync/packed"
)

// samples are operations of each shaped form, with numbers of every width.
func samples() []any {
	task := taskW{Rule: 2, Subject: 300, Ordinal: 70_000}
	return []any{
		inspectW{Kind: kindInspect, Numbers: bytes.Repeat([]byte{7}, 30), Photos: bytes.Repeat([]byte{9}, 64), Note: "pale flecks, bläulich"},
		inspectW{Kind: kindInspect},
		applyW{Kind: kindApply, Millis: 1 << 40, Counter: 1000, At: -1 << 33, By: 1, Plants: []uint64{1, 24, 300, 70_000}, Product: 5, AmountMl: 900, Parts: []uint16{1, 255}, Note: "twice", Completes: task},
		applyW{Kind: kindApply},
		handleW{Kind: kindHandle, Millis: 23, At: 24, By: 255, What: 3, Plants: []uint64{1}, Place: 256, Note: "outdoors", Completes: task},
		taskFactW{Kind: kindPutOff, Millis: 65_535, At: -1, By: 2, Task: task, Value: -70_000, Reason: 4},
		setW{Kind: kindSet, Millis: 70_000, Counter: 3, Record: 4, ID: 25, Fields: []fieldW{
			{Field: 1, Value: mustEncode("Küche"), Over: factIDW{Device: 2, Seq: 1 << 33}}, {Field: 2, Sub: 300, Value: mustEncode(-70_000)},
			{Field: 3, Value: mustEncode(true)}, {Field: 4, Value: mustEncode(uint64(24))}}},
		setW{Kind: kindSet},
		tempW{Kind: kindTemp, Millis: 65_536, By: 2, Place: 3, Coldest: -500, Warmest: 600},
		cardW{Kind: kindCard, Millis: 1, By: 2, Place: 3, Colour: 1, Pest: 2, Count: 100_000, Counted: -1, Photo: bytes.Repeat([]byte{1}, 32), Replaced: true, Note: "new", Completes: task},
	}
}

// bothWays reads bytes as both readers do, and compares what they make of them: the one
// that knows the form may give up, but never reads anything else.
func bothWays[W any](t *testing.T, data []byte) (shapedWell bool) {
	t.Helper()
	var quick, general W
	r := items{packed.ReadItems(data)}
	any(&quick).(shaped).shape(&r)
	if r.Bad {
		return false
	}
	rest, err := decMode.UnmarshalFirst(data, &general)
	require.NoError(t, err, "%x", data)
	require.Equal(t, rest, r.Rest(), "%x", data)
	require.Equal(t, mustEncode(general), mustEncode(quick), "%x", data)
	return true
}

func bothWaysOf(t *testing.T, sample any, data []byte) bool {
	t.Helper()
	switch sample.(type) {
	case inspectW:
		return bothWays[inspectW](t, data)
	case applyW:
		return bothWays[applyW](t, data)
	case handleW:
		return bothWays[handleW](t, data)
	case taskFactW:
		return bothWays[taskFactW](t, data)
	case setW:
		return bothWays[setW](t, data)
	case tempW:
		return bothWays[tempW](t, data)
	case cardW:
		return bothWays[cardW](t, data)
	}
	require.Fail(t, "no such form", "%T", sample)
	return false
}

func TestShapesReadWhatTheGeneralDecoderReads(t *testing.T) {
	for i, sample := range samples() {
		t.Run(fmt.Sprint(i, reflect.TypeOf(sample).Name()), func(t *testing.T) {
			data := mustEncode(sample)
			require.True(t, bothWaysOf(t, sample, data), "what a writer makes is read the quick way")
			require.True(t, bothWaysOf(t, sample, append(bytes.Clone(data), 1, 2)))
			for end := range data {
				require.False(t, bothWaysOf(t, sample, data[:end]))
			}
			for at := range data {
				for b := range 256 {
					altered := bytes.Clone(data)
					altered[at] = byte(b)
					bothWaysOf(t, sample, altered)
				}
			}
		})
	}
}
