package oplog_test

import (
	"fmt"
	"reflect"
	"slices"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"leafturn/model"
	"leafturn/model/fault"
	"leafturn/sync/mergetest"
	"leafturn/sync/oplog"
)

// The laws that these tests prove, for any operation whose fields are drawn at will:
//
//  1. what was written reads back as it was, and written again gives the same bytes;
//  2. the same operation at the same place has the same bytes on every phone;
//  3. what is not valid is refused when it is written, and the log stays as it was;
//  4. a fact that is saved in a snapshot is restored as it was.

// filler draws values for the fields of a body. Enumerations are drawn a little past
// their ends, so that some bodies are not valid.
type filler struct{ t *rapid.T }

var (
	taskKeyType = reflect.TypeFor[model.TaskKey]()
	uuidType    = reflect.TypeFor[uuid.UUID]()
)

func (f filler) fill(name string, v reflect.Value) {
	switch {
	case v.Type() == taskKeyType:
		if rapid.Bool().Draw(f.t, name+" set") {
			v.Set(reflect.ValueOf(key(model.Rule(rapid.IntRange(1, 9).Draw(f.t, name+" rule")), byte(rapid.IntRange(0, 3).Draw(f.t, name)), rapid.Uint32Range(1, 1<<32-1).Draw(f.t, name+" ordinal"))))
		}
		return
	case v.Type().ConvertibleTo(uuidType) && v.Kind() == reflect.Array:
		if n := rapid.IntRange(0, 5).Draw(f.t, name); n > 0 {
			v.Set(reflect.ValueOf(mergetest.ID[any](fmt.Sprint(n)).UUID()).Convert(v.Type()))
		}
		return
	}
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			f.fill(v.Type().Field(i).Name, v.Field(i))
		}
	case reflect.Slice:
		n := rapid.IntRange(0, 3).Draw(f.t, name)
		if n > 0 {
			v.Set(reflect.MakeSlice(v.Type(), n, n))
		}
		for i := range n {
			f.fill(name, v.Index(i))
		}
	case reflect.Array:
		for i := range v.Len() {
			f.fill(name, v.Index(i))
		}
	default:
		f.scalar(name, v)
	}
}

func (f filler) scalar(name string, v reflect.Value) {
	switch v.Kind() {
	case reflect.Bool:
		v.SetBool(rapid.Bool().Draw(f.t, name))
	case reflect.String:
		v.SetString(rapid.StringN(0, 20, 80).Draw(f.t, name))
	case reflect.Uint8:
		v.SetUint(rapid.Uint64Range(0, 7).Draw(f.t, name))
	case reflect.Uint16, reflect.Uint32, reflect.Uint64:
		v.SetUint(rapid.Uint64Range(0, 300).Draw(f.t, name))
	default:
		v.SetInt(rapid.Int64Range(-3, 20_900).Draw(f.t, name))
	}
}

// anyFact draws a fact of a kind, half of them like those of mergetest and half with
// all fields drawn.
func anyFact(t *rapid.T, name string) *model.Fact {
	withdrawn := model.FactID{Device: model.DeviceID(mergetest.ID[any]("phone")), Seq: 7}
	body := mergetest.Facts(withdrawn, mergetest.ID[model.Plant]("fern"), mergetest.ID[model.Plant]("ivy"))[name]
	if rapid.Bool().Draw(t, "drawn") {
		body = reflect.New(reflect.TypeOf(body).Elem()).Interface().(model.Body)
		filler{t}.fill("body", reflect.ValueOf(body).Elem())
	}
	return &model.Fact{At: model.Instant(rapid.Int64Range(1_700_000_000_000, 1_900_000_000_000).Draw(t, "at")), By: mergetest.ID[model.Member]("ash"), Body: body}
}

// anySet draws settings of any fields of one kind of record, with any values that
// these may hold.
func anySet(t *rapid.T) *oplog.Set {
	kind := model.Kind(rapid.IntRange(int(model.KindHousehold), int(model.KindOutbreak)).Draw(t, "record"))
	var fields []model.Field
	for f := range model.Field(64) {
		if _, ok := model.Spec(kind, f); ok {
			fields = append(fields, f)
		}
	}
	s := &oplog.Set{Record: model.Ref{Kind: kind, ID: mergetest.ID[any]("record").UUID()}}
	for range rapid.IntRange(1, 4).Draw(t, "fields") {
		f := rapid.SampledFrom(fields).Draw(t, "field")
		spec, _ := model.Spec(kind, f)
		one := oplog.Setting{Key: model.FieldKey{Field: f}, Value: anyValue(t, spec)}
		if spec.Set {
			one.Key.Sub = mergetest.ID[any]("one of the set").UUID()
		}
		if rapid.Bool().Draw(t, "over") {
			one.Over = model.FactID{Device: model.DeviceID(mergetest.ID[any]("phone")), Seq: rapid.Uint64Range(1, 1<<40).Draw(t, "seq")}
		}
		s.Fields = append(s.Fields, one)
	}
	return s
}

func anyValue(t *rapid.T, spec model.FieldSpec) model.Value {
	switch spec.Type {
	case model.TypeText:
		return model.Text(rapid.StringN(0, 16, int(min(spec.Max, 64))).Draw(t, "text"))
	case model.TypeInt:
		return model.Int(rapid.Int64Range(spec.Min, spec.Max).Draw(t, "number"))
	case model.TypeBool:
		return model.Bool(rapid.Bool().Draw(t, "truth"))
	}
	return model.IDValue(mergetest.ID[any](rapid.SampledFrom([]string{"x", "y"}).Draw(t, "id")))
}

// said is what an operation says, apart from where it stands. Lists without elements
// are equal, whether or not they were made.
func said(body any) string {
	if f, ok := body.(*model.Fact); ok {
		return fmt.Sprintf("%v %v %T%+v", f.At, f.By, f.Body, reflect.ValueOf(f.Body).Elem())
	}
	return fmt.Sprintf("%T%+v", body, body)
}

func TestAnyOperationReadsBackAndIsTheSameBytes(t *testing.T) {
	for _, name := range append(mergetest.FactNames(), "set") {
		t.Run(name, func(t *testing.T) {
			valid := 0
			rapid.Check(t, func(t *rapid.T) {
				var body any
				if name == "set" {
					body = anySet(t)
				} else {
					body = anyFact(t, name)
				}
				if readsBack(t, body) {
					valid++
				}
			})
			require.NotZero(t, valid)
		})
	}
}

// readsBack proves the laws for one operation, and reports whether it was valid.
func readsBack(t *rapid.T, body any) bool {
	one, two, three := newPen(1), newPen(1), newPen(1)
	before := one.tail.Save()
	ops, err := one.tail.Write(one.stamp, body)
	if err != nil {
		require.NotEmpty(t, fault.CodeOf(err), "%v", err)
		require.Equal(t, before, one.tail.Save(), "the log stays as it was")
		return false
	}
	again, err := two.tail.Write(two.stamp, body)
	require.NoError(t, err)
	require.Equal(t, ops, again)

	reader := oplog.NewTail(one.household, one.tail.Device())
	var last *oplog.Op
	for _, op := range ops {
		last, err = reader.Replay(op)
		require.NoError(t, err)
	}
	require.Equal(t, said(body), said(last.Body))
	again, err = three.tail.Write(three.stamp, last.Body)
	require.NoError(t, err)
	require.Equal(t, ops, again)
	require.Equal(t, one.tail.Head(), reader.Head())
	return true
}

func TestAnySavedFactsAreRestored(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := newPen(1)
		var facts []*model.Fact
		for range rapid.IntRange(0, 12).Draw(t, "facts") {
			p.stamp += 1 << 20
			_, ops, err := p.tail.WriteOps(p.stamp, anyFact(t, rapid.SampledFrom(mergetest.FactNames()).Draw(t, "kind")))
			if err == nil {
				facts = append(facts, ops[len(ops)-1].Body.(*model.Fact))
			}
		}
		saved, err := p.tail.SaveFacts(facts)
		require.NoError(t, err)
		got, err := oplog.RestoreTail(p.household, p.tail.Save()).RestoreFacts(saved)
		require.NoError(t, err)
		require.Equal(t, names(facts), names(got))
		again, err := p.tail.SaveFacts(got)
		require.NoError(t, err)
		require.Equal(t, saved, again)
	})
}

func names(facts []*model.Fact) (all []string) {
	for _, f := range facts {
		all = append(all, fmt.Sprint(f.ID, f.Stamp, said(f)))
	}
	return all
}

// A batch reads back as it was sealed, packed or not, and passing it on keeps its
// bytes.
func TestAnyBatchReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := newPen(1)
		for range rapid.IntRange(1, 20).Draw(t, "operations") {
			p.stamp += 1 << 20
			ops, err := p.tail.Write(p.stamp, anySet(t))
			if err == nil {
				p.open = append(p.open, ops...)
			}
		}
		if len(p.open) == 0 {
			t.Skip("none was valid")
		}
		want := slices.Concat(p.open...)
		b := p.seal(t)
		got, err := oplog.DecodeBatch(b.Encode())
		require.NoError(t, err)
		require.Equal(t, want, got.Ops)
		require.Equal(t, b.Encode(), got.Encode())
		packed := *got
		require.Equal(t, b.Encode(), (&oplog.Batch{Device: packed.Device, First: packed.First, Count: packed.Count, Prev: packed.Prev, Ops: packed.Ops, Sig: packed.Sig}).Encode())
	})
}
