// Package web holds the shell of the phone app: the page, its styles, the thin
// script that forwards events to the core and swaps in the fragments that the
// core answers with, the service worker and the icons.
//
// The core itself is built, not written: a build of the phone package, its
// app.wasm and the wasm_exec.js that belongs to it, may be put into dist before
// the server is built, and is then embedded beside the rest. Without it dist
// holds only a README.
//
// The page and the core, which runs in worker.js, talk in messages. To the core:
//
//	{type:'start', hash}                               once, first, when the core has said that it is ready
//	{type:'go', hash}                                  the address changed
//	{type:'do', do, data, files, id}                   an action; data holds a text, or a list
//	                                                   for a name that came more than once;
//	                                                   files hold {field, name, type, bytes}
//	{type:'photo', sum, size, id}                      a photo comes into view
//	{type:'online'|'visible'|'tick'}                   a chance to sync; tick once a minute
//
// From the core, every key optional, taken in this order:
//
//	id         the question answered: each 'do' wants one answer with its id
//	ready      the core listens from now on
//	swaps      [{target, html, how:'inner'|'outer'}]
//	status     the line that says where the data is
//	title      of the page
//	photo      {sum, size, type, bytes} or {sum, size, missing:true}; may come unasked
//	say, undo  a short word, with undo {do, data, label, seconds}
//	clip       text for the clipboard
//	save       {name, url}, a file to keep
//	push       'look': whether messages come to this phone, to be told by the action 'push'
//	go         the address to go to; the page answers with 'go'
//	scroll     'top'
//	focus      id of the element that takes the focus; after a change of screen 'title'
//
// While a swap replaces words that a person has half typed, a choice, an open
// fold, the focus or the place on the page, the shell puts them back by the ids
// of the elements; words that were sent are not put back.
package web

import "embed"

// Files is the shell as it is served, with what was built below dist.
//
//go:embed index.html app.css app.js worker.js sw.js manifest.webmanifest icons sample dist
var Files embed.FS
