package replica_test

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"leafturn/client-sdk/replica"
	"leafturn/model"
	"leafturn/model/fault"
)

func (s *fakeServer) create(r replica.Request) (*replica.Response, error) {
	if s.trouble != nil {
		return nil, s.trouble
	}
	text, err := base64.StdEncoding.DecodeString(strings.TrimPrefix(r.Header["upload-metadata"], "sha256 "))
	if err != nil {
		return nil, err
	}
	sum, err := model.ParsePhotoSum(string(text))
	if err != nil {
		return nil, err
	}
	want, err := strconv.Atoi(r.Header["upload-length"])
	if err != nil {
		return nil, err
	}
	s.made++
	path := fmt.Sprint("/uploads/", s.made)
	s.uploads[path] = &fakeUpload{sum: sum, want: want}
	location := "http://leafturn.test" + api + "/households/" + s.household.Household().String() + path
	header := map[string]string{"location": location}
	if s.photos[sum] != nil { // it has the photo
		header["upload-offset"] = r.Header["upload-length"]
	}
	return &replica.Response{Status: http.StatusCreated, Header: header}, nil
}

func (s *fakeServer) upload(r replica.Request, path string) (*replica.Response, error) {
	u := s.uploads[path]
	if u == nil {
		return nil, errUpload
	}
	if r.Method == "PATCH" {
		if r.Header["upload-offset"] != strconv.Itoa(len(u.data)) {
			return &replica.Response{Status: http.StatusConflict}, nil
		}
		if !s.stuck {
			u.data = append(u.data, r.Body...)
		}
		if len(u.data) == u.want {
			if err := s.finish(path, u); err != nil {
				return nil, err
			}
		}
	}
	return &replica.Response{Status: http.StatusNoContent, Header: map[string]string{"upload-offset": strconv.Itoa(len(u.data))}}, nil
}

func (s *fakeServer) finish(path string, u *fakeUpload) error {
	f := s.refuse[u.sum]
	if f == nil && sha256.Sum256(u.data) != u.sum {
		f = fault.New("photo_sum_mismatch", "Damaged on the way.")
	}
	if f != nil {
		delete(s.uploads, path)
		return f
	}
	s.photos[u.sum] = u.data
	return nil
}

func (s *fakeServer) missing(body []byte) (*replica.Response, error) {
	var asked struct{ Sums []string }
	if err := json.Unmarshal(body, &asked); err != nil {
		return nil, err
	}
	lacking := []string{}
	for _, text := range asked.Sums {
		sum, err := model.ParsePhotoSum(text)
		if err != nil {
			return nil, err
		}
		if s.photos[sum] == nil {
			lacking = append(lacking, text)
		}
	}
	return jsonOf(map[string][]string{"missing": lacking})
}

func (s *fakeServer) photo(path string) (*replica.Response, error) {
	name, size, _ := strings.Cut(strings.TrimPrefix(path, "/photos/"), "?size=")
	sum, err := model.ParsePhotoSum(name)
	if err != nil {
		return nil, err
	}
	data, ok := s.photos[sum]
	if !ok {
		return nil, errPhoto
	}
	if size != "" {
		data = []byte("rendering of size " + size)
	}
	return &replica.Response{Status: http.StatusOK, Header: map[string]string{"content-type": "image/jpeg"}, Body: data}, nil
}
