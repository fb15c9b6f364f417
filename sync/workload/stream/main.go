// Command stream writes the benchmark's records to standard output, one JSON object
// per line, for programs that are not written in Go.
package main

import (
	"bufio"
	"flag"
	"fmt"
	"os"

	"leafturn/sync/workload"
)

func main() {
	events := flag.Int("events", 100_000, "how many events; edits come on top")
	flag.Parse()
	out := bufio.NewWriter(os.Stdout)
	err := workload.Write(out, workload.DefaultSeed, *events)
	if err == nil {
		err = out.Flush()
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "stream:", err)
		os.Exit(1)
	}
}
