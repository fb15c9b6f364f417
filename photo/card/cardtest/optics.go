package cardtest

import "math"

// project is the projective map that takes four places to four others, found by
// Gaussian elimination of its eight linear equations.
func project(from, to [4]place) [9]float64 {
	var a [8][9]float64
	for i := range from {
		x, y, u, v := from[i].x, from[i].y, to[i].x, to[i].y
		a[2*i] = [9]float64{x, y, 1, 0, 0, 0, -u * x, -u * y, u}
		a[2*i+1] = [9]float64{0, 0, 0, x, y, 1, -v * x, -v * y, v}
	}
	for c := range 8 {
		best := c
		for r := c; r < 8; r++ {
			if math.Abs(a[r][c]) > math.Abs(a[best][c]) {
				best = r
			}
		}
		a[c], a[best] = a[best], a[c]
		for r := range 8 {
			if r == c {
				continue
			}
			f := a[r][c] / a[c][c]
			for k := c; k < 9; k++ {
				a[r][k] -= f * a[c][k]
			}
		}
	}
	var m [9]float64
	for i := range 8 {
		m[i] = a[i][8] / a[i][i]
	}
	m[8] = 1
	return m
}

func apply(m [9]float64, p place) place {
	d := m[6]*p.x + m[7]*p.y + m[8]
	return place{(m[0]*p.x + m[1]*p.y + m[2]) / d, (m[3]*p.x + m[4]*p.y + m[5]) / d}
}

// blur is a Gaussian one, across and then down. At the rim the rim goes on.
func blur(light []colour, w, h int, sigma float64) {
	weights := bell(sigma)
	reach := len(weights) / 2
	line := make([]colour, w)
	for y := range h {
		row := light[y*w:][:w]
		copy(line, row)
		for x := range row {
			row[x] = mix(weights, func(i int) colour { return line[min(max(x+i-reach, 0), w-1)] })
		}
	}
	across := append([]colour(nil), light...)
	for y := range h {
		for x := range w {
			light[y*w+x] = mix(weights, func(i int) colour { return across[min(max(y+i-reach, 0), h-1)*w+x] })
		}
	}
}

func bell(sigma float64) []float32 {
	reach := int(math.Ceil(3 * sigma))
	weights, sum := make([]float32, 2*reach+1), float32(0)
	for i := range weights {
		d := float64(i - reach)
		weights[i] = float32(math.Exp(-d * d / (2*sigma*sigma + 1e-9)))
		sum += weights[i]
	}
	for i := range weights {
		weights[i] /= sum
	}
	return weights
}

func mix(weights []float32, at func(int) colour) colour {
	var k colour
	for i, f := range weights {
		p := at(i)
		k[0], k[1], k[2] = k[0]+f*p[0], k[1]+f*p[1], k[2]+f*p[2]
	}
	return k
}
