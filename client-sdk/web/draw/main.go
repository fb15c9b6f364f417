// Command draw makes the app's PNG icons: a turned leaf seen from below, one
// half in ochre and one in blue, on paper. leaf.svg beside it is the same leaf.
//
// A leaf half is a closed outline of Bézier curves; a vein is a thick line. Run
// it in the folder of the shell: go run ./draw
package main

import (
	"image"
	"image/color"
	"image/png"
	"log"
	"os"

	"golang.org/x/image/vector"
)

var (
	paper = color.RGBA{0xf7, 0xf2, 0xe8, 0xff}
	ochre = color.RGBA{0xe6, 0x9f, 0x00, 0xff}
	blue  = color.RGBA{0x00, 0x72, 0xb2, 0xff}
)

// grid is the side of the drawing that the coordinates below refer to.
const grid = 512

type icon struct {
	file   string
	side   int
	corner float32 // radius of the paper's corners on the grid; 0 fills the square
	scale  float32 // of the leaf; a maskable icon keeps it in the inner four fifths
}

func main() {
	for _, i := range []icon{
		{"icon-192.png", 192, 112, 1.12},
		{"icon-512.png", 512, 112, 1.12},
		{"maskable-512.png", 512, 0, 0.82},
	} {
		if err := i.write(); err != nil {
			log.Fatal(err)
		}
	}
}

func (i icon) write() error {
	f, err := os.Create("icons/" + i.file)
	if err != nil {
		return err
	}
	if err := png.Encode(f, i.draw()); err != nil {
		return err
	}
	return f.Close()
}

func (i icon) draw() image.Image {
	c := canvas{img: image.NewRGBA(image.Rect(0, 0, i.side, i.side)), unit: float32(i.side) / grid, scale: 1}
	c.fill(paper, func() { c.roundSquare(i.corner) })
	c.scale = i.scale
	c.fill(ochre, func() {
		c.move(150, 404)
		c.curve(84, 264, 166, 118, 392, 100)
		c.curve(414, 300, 330, 428, 150, 404)
	})
	c.fill(blue, func() {
		c.move(392, 100)
		c.line(150, 404)
		c.curve(330, 428, 414, 300, 392, 100)
	})
	for _, v := range veins {
		c.fill(paper, func() { c.stroke(v) })
	}
	return c.img
}

// vein is a line from one point to another, tapering from one half-width to the
// other.
type vein struct{ x0, y0, x1, y1, w0, w1 float32 }

var veins = []vein{
	{112, 452, 392, 100, 11, 3}, // the midrib, with the stalk
	{207, 332, 188, 232, 7, 4}, {276, 246, 262, 158, 7, 4}, {207, 332, 310, 352, 7, 4}, {276, 246, 364, 262, 7, 4},
}

// canvas fills outlines given on the grid.
type canvas struct {
	img   *image.RGBA
	r     *vector.Rasterizer
	unit  float32
	scale float32 // around the middle
}

func (c *canvas) fill(with color.Color, outline func()) {
	side := c.img.Bounds().Dx()
	c.r = vector.NewRasterizer(side, side)
	outline()
	c.r.ClosePath()
	c.r.Draw(c.img, c.img.Bounds(), image.NewUniform(with), image.Point{})
}

func (c *canvas) at(v float32) float32 { return (grid/2 + (v-grid/2)*c.scale) * c.unit }

func (c *canvas) move(x, y float32) { c.r.MoveTo(c.at(x), c.at(y)) }

func (c *canvas) line(x, y float32) { c.r.LineTo(c.at(x), c.at(y)) }

func (c *canvas) curve(ax, ay, bx, by, x, y float32) {
	c.r.CubeTo(c.at(ax), c.at(ay), c.at(bx), c.at(by), c.at(x), c.at(y))
}

// roundSquare is the whole square with round corners. The middle control points
// lie on the corner, which is round enough for the eye.
func (c *canvas) roundSquare(r float32) {
	c.move(r, 0)
	c.line(grid-r, 0)
	c.curve(grid-r*0.45, 0, grid, r*0.45, grid, r)
	c.line(grid, grid-r)
	c.curve(grid, grid-r*0.45, grid-r*0.45, grid, grid-r, grid)
	c.line(r, grid)
	c.curve(r*0.45, grid, 0, grid-r*0.45, 0, grid-r)
	c.line(0, r)
	c.curve(0, r*0.45, r*0.45, 0, r, 0)
}

// stroke is the outline of a vein: two sides, each beside the middle line.
func (c *canvas) stroke(v vein) {
	dx, dy := v.x1-v.x0, v.y1-v.y0
	length := max(abs(dx), abs(dy))
	nx, ny := -dy/length, dx/length
	c.move(v.x0+nx*v.w0, v.y0+ny*v.w0)
	c.line(v.x1+nx*v.w1, v.y1+ny*v.w1)
	c.line(v.x1-nx*v.w1, v.y1-ny*v.w1)
	c.line(v.x0-nx*v.w0, v.y0-ny*v.w0)
}

func abs(f float32) float32 { return max(f, -f) }
