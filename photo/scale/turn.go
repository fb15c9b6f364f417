package scale

import "image"

// turn is what an EXIF orientation asks for: mirror first, then swap rows and
// columns. Mirroring is done by the resizing, which only has to count from the
// other end.
type turn struct{ mirrorX, mirrorY, transpose bool }

// turnOf reads the eight orientations of the EXIF standard.
func turnOf(orientation uint8) turn {
	switch orientation {
	case 2:
		return turn{mirrorX: true}
	case 3:
		return turn{mirrorX: true, mirrorY: true}
	case 4:
		return turn{mirrorY: true}
	case 5:
		return turn{transpose: true}
	case 6:
		return turn{mirrorY: true, transpose: true}
	case 7:
		return turn{mirrorX: true, mirrorY: true, transpose: true}
	case 8:
		return turn{mirrorX: true, transpose: true}
	}
	return turn{}
}

func (t turn) plane(p plane) plane {
	if !t.transpose {
		return p
	}
	q := plane{pix: make([]byte, len(p.pix)), stride: p.h, w: p.h, h: p.w, width: p.height, height: p.width}
	for y := range p.h {
		for x, v := range p.pix[y*p.stride:][:p.w] {
			q.pix[x*q.stride+y] = v
		}
	}
	return q
}

func (t turn) gray(y plane) image.Image {
	y = t.plane(y)
	return &image.Gray{Pix: y.pix, Stride: y.stride, Rect: image.Rect(0, 0, y.w, y.h)}
}

func (t turn) colour(y, cb, cr plane) image.Image {
	y, cb, cr = t.plane(y), t.plane(cb), t.plane(cr)
	return &image.YCbCr{
		Y: y.pix, Cb: cb.pix, Cr: cr.pix, YStride: y.stride, CStride: cb.stride,
		SubsampleRatio: image.YCbCrSubsampleRatio420, Rect: image.Rect(0, 0, y.w, y.h),
	}
}
