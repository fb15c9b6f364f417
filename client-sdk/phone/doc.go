//go:build !(js && wasm)

// Command phone is the phone app's core. It runs in a browser's Web Worker, so it
// is built for js/wasm; the server does that when it starts.
package main

import "fmt"

func main() { fmt.Println("This program runs in a browser. Start the server instead: go run ./server") }
