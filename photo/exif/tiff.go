package exif

import "encoding/binary"

// The tags that are read, by their numbers in the EXIF standard.
const (
	tagOrientation = 0x0112
	tagExifIFD     = 0x8769
	tagDate        = 0x9003 // DateTimeOriginal
	tagOffset      = 0x9011 // OffsetTimeOriginal
)

// Types of tag values.
const (
	typeASCII = 2
	typeShort = 3
	typeLong  = 4
)

// entriesMax bounds how many entries of one directory are read. Cameras write
// fewer than a hundred; a hostile file may claim 65,535.
const entriesMax = 512

// tiff is a block of tags in the layout of TIFF. Offsets are held in 64 bits, so
// that no sum of two of them can wrap around.
type tiff struct {
	b     []byte
	order binary.ByteOrder
}

// readTags reads the facts from a TIFF block. Whatever is out of range counts as
// not there; it never fails. It opens IFD0 and the EXIF directory once each and
// follows no other pointer, so loops and chains cannot hold it.
func readTags(b []byte) Tags {
	tags := Tags{Orientation: 1}
	t, first, ok := openTIFF(b)
	if !ok {
		return tags
	}
	var exifIFD uint64
	t.each(first, func(tag, typ uint16, count uint32, value []byte) {
		switch tag {
		case tagOrientation:
			if o, ok := t.number(typ, count, value); ok && o >= 1 && o <= 8 {
				tags.Orientation = uint8(o)
			}
		case tagExifIFD:
			if at, ok := t.number(typ, count, value); ok {
				exifIFD = at
			}
		}
	})
	if exifIFD != 0 && exifIFD != first {
		tags.Taken = t.taken(exifIFD)
	}
	return tags
}

func openTIFF(b []byte) (t tiff, first uint64, ok bool) {
	switch {
	case starts(b, "II*\x00"):
		t = tiff{b, binary.LittleEndian}
	case starts(b, "MM\x00*"):
		t = tiff{b, binary.BigEndian}
	default:
		return tiff{}, 0, false
	}
	if len(b) < 8 {
		return tiff{}, 0, false
	}
	first = uint64(t.order.Uint32(b[4:]))
	return t, first, first >= 8
}

func (t tiff) taken(ifd uint64) Taken {
	var date, offset string
	t.each(ifd, func(tag, typ uint16, count uint32, value []byte) {
		switch tag {
		case tagDate:
			date = t.text(typ, count, value, dateLen)
		case tagOffset:
			offset = t.text(typ, count, value, offsetLen)
		}
	})
	return takenFrom(date, offset)
}

// each calls fn for the entries of the directory at off that lie inside the block.
func (t tiff) each(off uint64, fn func(tag, typ uint16, count uint32, value []byte)) {
	head := t.at(off, 2)
	if head == nil {
		return
	}
	n := min(uint64(t.order.Uint16(head)), entriesMax)
	for i := range n {
		e := t.at(off+2+12*i, 12)
		if e == nil {
			return
		}
		fn(t.order.Uint16(e), t.order.Uint16(e[2:]), t.order.Uint32(e[4:]), e[8:12])
	}
}

// number reads a single SHORT or LONG. Some writers store SHORT tags as LONG.
func (t tiff) number(typ uint16, count uint32, value []byte) (uint64, bool) {
	switch {
	case count != 1:
		return 0, false
	case typ == typeShort:
		return uint64(t.order.Uint16(value)), true
	case typ == typeLong:
		return uint64(t.order.Uint32(value)), true
	}
	return 0, false
}

// text reads the first n bytes of an ASCII value longer than four bytes.
func (t tiff) text(typ uint16, count uint32, value []byte, n int) string {
	if typ != typeASCII || count < uint32(n) {
		return ""
	}
	return string(t.at(uint64(t.order.Uint32(value)), uint64(n)))
}

// at is n bytes at off, or nil when they are not all inside the block.
func (t tiff) at(off, n uint64) []byte {
	if size := uint64(len(t.b)); off > size || n > size-off {
		return nil
	}
	return t.b[off : off+n]
}

// writeTags makes a fresh TIFF block with the facts. One set of tags always gives
// the same bytes.
//
//	0  "MM" 0 42, offset of IFD0 = 8
//	8  IFD0: Orientation, and the EXIF directory's offset when a time is known
//	   EXIF directory: DateTimeOriginal, OffsetTimeOriginal when known, their texts
func writeTags(t Tags) []byte {
	be := binary.BigEndian
	b := []byte("MM\x00*\x00\x00\x00\x08")
	entry := func(tag, typ uint16, count, value uint32) {
		b = be.AppendUint16(b, tag)
		b = be.AppendUint16(b, typ)
		b = be.AppendUint32(b, count)
		b = be.AppendUint32(b, value)
	}
	orientation := uint32(t.Orientation) << 16 // a SHORT sits in the first two of four bytes
	if t.Taken == "" {
		b = be.AppendUint16(b, 1)
		entry(tagOrientation, typeShort, 1, orientation)
		return be.AppendUint32(b, 0)
	}
	const exifAt = 8 + 2 + 2*12 + 4
	b = be.AppendUint16(b, 2)
	entry(tagOrientation, typeShort, 1, orientation)
	entry(tagExifIFD, typeLong, 1, exifAt)
	b = be.AppendUint32(b, 0)
	date, offset := t.Taken.exif()
	entries := 1
	if offset != "" {
		entries = 2
	}
	textAt := uint32(exifAt + 2 + entries*12 + 4)
	b = be.AppendUint16(b, uint16(entries))
	entry(tagDate, typeASCII, uint32(dateLen+1), textAt)
	if offset != "" {
		entry(tagOffset, typeASCII, uint32(offsetLen+1), textAt+uint32(dateLen)+1)
	}
	b = be.AppendUint32(b, 0)
	b = append(append(b, date...), 0)
	if offset != "" {
		b = append(append(b, offset...), 0)
	}
	return b
}
