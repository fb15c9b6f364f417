package main

import (
	"context"
	"fmt"
	"io/fs"
	"os"

	"leafturn/client-sdk/web"
	"leafturn/server/webapp"
)

// phoneApp finds or builds the phone app.
func (p *program) phoneApp(ctx context.Context, s settings) (*webapp.Bundle, error) {
	shell := fs.FS(web.Files)
	if s.app != "" {
		shell = os.DirFS(s.app)
	}
	core, err := p.core(ctx, s, shell)
	if err != nil {
		return nil, err
	}
	return webapp.Load(shell, core)
}

// core prefers the one that was built beforehand: whoever built it wants it served,
// and a machine that only serves needs no compiler.
func (p *program) core(ctx context.Context, s settings, shell fs.FS) (fs.FS, error) {
	source, noSource := webapp.FindSource(".")
	if core, ok := webapp.Prebuilt(shell); ok && !s.rebuild {
		if noSource == nil {
			p.warnIfStale(source, core)
		}
		return core, nil
	}
	if noSource != nil {
		return nil, noSource
	}
	return p.builder(source, s, webapp.QuickQuality).Core(ctx, s.rebuild)
}

// warnIfStale tells a developer why a change does not show.
func (p *program) warnIfStale(source webapp.Source, core fs.FS) {
	key, err := source.Key()
	if err == nil && key != webapp.KeyOf(core) {
		fmt.Fprintln(p.out, "The phone app was built beforehand from another source than the one here; run build-app again, or use --rebuild-app.")
	}
}

func (p *program) builder(source webapp.Source, s settings, quality int) webapp.Builder {
	return webapp.Builder{
		Source:  source,
		Cache:   s.cache,
		Quality: quality,
		Say:     func(line string) { fmt.Fprintln(p.out, line) },
	}
}

// buildApp builds the core where the program is linked from, packed as tightly as
// it goes.
func (p *program) buildApp(ctx context.Context, s settings, _ []effective) error {
	source, err := webapp.FindSource(".")
	if err != nil {
		return err
	}
	into := s.into
	if into == "" {
		into = source.Dist()
	}
	if err := p.builder(source, s, webapp.BestQuality).Into(ctx, into); err != nil {
		return err
	}
	fmt.Fprintf(p.out, "The phone app is in %s.\n", into)
	return nil
}
