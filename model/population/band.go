package population

// bandOf finds the 10, 50 and 90 per cent points of a row, which it puts into
// another order: the smallest number that at least that share does not exceed.
func bandOf(row []int32) Band {
	n := len(row)
	lo, mid, hi := rank(n, 10), rank(n, 50), rank(n, 90)
	place(row, lo)
	place(row[lo:], mid-lo)
	place(row[mid:], hi-mid)
	return Band{int(row[lo]), int(row[mid]), int(row[hi])}
}

func rank(n, percent int) int { return max(0, (n*percent+99)/100-1) }

// place puts the kth smallest of a row in its place, smaller ones before it and
// greater ones after it (quickselect, the middle of three as pivot).
func place(row []int32, k int) {
	low, high := 0, len(row)-1
	for low < high {
		p := middle(row[low], row[(low+high)/2], row[high])
		i, j := low, high
		for i <= j {
			for row[i] < p {
				i++
			}
			for row[j] > p {
				j--
			}
			if i <= j {
				row[i], row[j] = row[j], row[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			high = j
		case k >= i:
			low = i
		default:
			return
		}
	}
}

func middle(a, b, c int32) int32 { return max(min(a, b), min(max(a, b), c)) }
