package screens

import (
	"leafturn/client-sdk/screens/h"
	"leafturn/client-sdk/screens/texts"
)

// DataView is where the data is and what could not be sent.
type DataView struct {
	Notices []Notice
	Status  string // the same line as at the top of the page
	Entries string // how many entries the log holds
	Waiting string // how many wait to be sent, "" if none
	Photos  string // how many, how large, how many wait
	Digest  string // of the folded state, in hex
	Vector  []VectorRow
	Failed  []FailedUpload
	Sending texts.Sending // when this phone sends photos
	Network texts.Network
	Resting int // photos that wait for that
	Sample  bool
	Version string
}

// VectorRow is how far this phone knows one phone's log.
type VectorRow struct{ Phone, Seq string }

// FailedUpload is a photo that could not be sent, and why.
type FailedUpload struct {
	ID     string
	Title  string // plant and day
	Size   string
	Reason string
	Photo  *Photo
}

// DataScreen is the data panel on a screen of its own, where the status line
// leads.
func DataScreen(t *texts.Catalogue, v DataView) h.Node {
	return screen("data", heading(t.Household.Data, "", backTo(RouteHousehold, t.Bar.Household)), notices(t, v.Notices), h.Div(h.ID(IDData), DataPanel(t, v)))
}

// DataPanel says where the data is, with the failed uploads first.
func DataPanel(t *texts.Catalogue, v DataView) h.Node {
	d := t.Data
	return h.Div(class("cards"),
		h.Div(class("card"),
			h.P(class("strong withicon"), icon("data"), h.Span(h.Text(v.Status))),
			h.Dl(class("facts tall"), pair(d.Entries, v.Entries), pair(d.Waiting, v.Waiting), pair(d.Photos, v.Photos)),
			h.If(!v.Sample, button("plain", d.SyncNow, act(ActSyncNow))),
			h.If(!v.Sample, goTo("quiet", RouteFile, t.Members.FileTitle))),
		failedUploads(t, v.Failed),
		h.If(!v.Sample, sendingPart(t, v)),
		fold("data-details", "more", d.Details, h.P(class("hint"), h.Text(d.DigestHint)),
			h.Dl(class("facts tall"), h.Div(h.Dt(h.Text(d.Digest)), h.Dd(class("mono"), h.ID("digest"), h.Text(v.Digest))),
				h.Map(v.Vector, func(r VectorRow) h.Node { return pair(r.Phone, r.Seq) }), pair(d.Version, v.Version))),
		h.If(v.Sample, h.Div(class("card"), h.P(h.Text(d.SampleWords)), button("stern", t.Common.LeaveSample, act(ActLeaveSample)))))
}

// sendingPart is when this phone sends photos.
func sendingPart(t *texts.Catalogue, v DataView) h.Node {
	p := t.Photos
	choices := make([]Named, len(texts.Sendings))
	for i, s := range texts.Sendings {
		choices[i] = Named{ID: string(s), Name: p.When[s]}
	}
	return h.Div(class("card"),
		selectField("ph-sending", "sending", p.Send, p.SendHint, choices, string(v.Sending), h.Data("change", ActSending)),
		h.If(v.Sending != texts.SendAlways, h.P(class("small"), h.Text(p.On[v.Network]))),
		h.If(v.Resting > 0, button("main", p.SendNow(v.Resting), act(ActSendPhotos))))
}

func failedUploads(t *texts.Catalogue, list []FailedUpload) h.Node {
	d := t.Data
	return h.If(len(list) > 0, h.Div(class("card failed"), h.P(class("strong withicon"), icon("care"), h.Span(h.Text(d.Failed(len(list))))),
		h.P(class("small"), h.Text(d.FailedSafe)),
		h.Ul(class("rows"), h.Map(list, func(f FailedUpload) h.Node {
			about := h.Aria("describedby", "up-"+f.ID)
			return h.Li(class("row wrap"), h.Iff(f.Photo != nil, func() h.Node { return h.Span(class("thumb"), picture(*f.Photo, thumbnail)) }),
				h.Div(class("grow"), h.P(class("strong"), h.ID("up-"+f.ID), h.Text(f.Title)), h.P(class("small"), h.Text(f.Size)), h.P(h.Text(f.Reason))),
				h.Div(class("acts"),
					button("plain", d.Retry, act(ActRetryUpload, "upload", f.ID), about),
					button("plain", d.SaveCopy, act(ActSaveCopy, "upload", f.ID), about),
					fold("dr-"+f.ID, "more", d.DropTitle, h.P(h.Text(d.DropWords)), button("stern", d.Drop, act(ActDropUpload, "upload", f.ID), about))))
		}))))
}

// ProblemView is something that went wrong: what happened, what is safe, what
// to do.
type ProblemView struct {
	Happened string
	Safe     string
	Do       string
	Route    string // where Do leads, "" if it is only words
	Label    string
}

// Problem is the whole screen of a problem that leaves nothing else to show.
func Problem(t *texts.Catalogue, v ProblemView) h.Node {
	p := t.Problem
	return screen("problem",
		heading(p.Title, "", nil),
		h.Div(h.Role("alert"), class("card stern"),
			h.H2(h.Text(p.Happened)), h.P(h.Text(v.Happened)),
			h.H2(h.Text(p.Safe)), h.P(h.Text(v.Safe)),
			h.H2(h.Text(p.Do)), h.P(h.Text(v.Do))),
		h.If(v.Route != "", dock(goTo("main", v.Route, v.Label))))
}
