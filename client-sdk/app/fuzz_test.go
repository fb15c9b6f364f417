package app

import (
	"net/url"
	"strings"
	"testing"

	"leafturn/client-sdk/screens"
)

// FuzzDo sends hostile fields to every action and hostile addresses to every page, in the
// sample household: the core of the app must not end, whatever a page says to it.
func FuzzDo(f *testing.F) {
	ids := newDiary(f).plants()
	seeds := [][2]string{
		{"plant=PLANT&place=x&sum=00&fact=d.1&task=1.x.2&outbreak=x&product=x&member=x&name=n", "#/plant/PLANT/finding/x"},
		{"plant=PLANT&part=1&sign=1&damage=2&count0=3&looked=1&aid=1&note=n&x=.5&y=2e9&how=tap&photo=before", "#/outbreak/PLANT/-1"},
		{"plant=PLANT&count0=99999999999&damage=-1&part=999&looked=65536&interval=-1&applications=1e9&first=2006-99-99&rhythm=0&coldest=NaN&warmest=Inf", "#/round/"},
	}
	for i := range screens.Actions { // few, because each begins a household
		seed := seeds[i%len(seeds)]
		f.Add(uint8(i), seed[0], seed[1])
	}
	f.Fuzz(func(t *testing.T, which uint8, fields, address string) {
		action := screens.Actions[int(which)%len(screens.Actions)]
		data, err := url.ParseQuery(strings.ReplaceAll(fields, "PLANT", ids[0]))
		if err != nil {
			return
		}
		d := newDiary(t)
		d.Go(t.Context(), strings.ReplaceAll(address, "PLANT", ids[0]))
		for range 2 { // the second time the first has been done
			d.Do(t.Context(), Event{Do: action, Data: Data(data), Files: []File{{Field: "photo", Name: "x.jpg", Bytes: []byte(fields)}, {Field: "file", Bytes: []byte(address)}}})
			if d.house == nil {
				return
			}
		}
		d.Go(t.Context(), screens.RouteToday)
	})
}
