package texts

import (
	"strconv"

	"leafturn/model"
)

func enPhotos(c *Catalogue) {
	c.Photos = Photos{
		Working: func(n int) string {
			if n == 1 {
				return "Keeping the photo …"
			}
			return "Keeping " + itoa(n) + " photos …"
		},
		Kept: "Kept on this phone", Again: "Take it again", Remove: "Remove",
		Gallery: "Choose from the gallery", Size: "Size of the photos",
		Full: "Keep the full size", FullHint: "For the next photos here. Without it, 2,048 pixels are kept. Files over 20 MB or 50 megapixels, and HEIC, are made smaller in any case.",
		Doubt: map[string]string{
			"blurred": "Blurred. Take it again?", "too_dark": "Too dark. Take it again?", "too_bright": "Too bright. Take it again?",
			"too_small": "Very small. Take it again?", "too_large": "Too large to judge.",
		},
		Send: "Send photos", SendHint: "On this phone only. Entries are small and are always sent. Photos of others are fetched when you look at them.",
		When: map[Sending]string{SendAlways: "Always", SendFree: "Not on mobile data", SendAsked: "Only when I ask"},
		On: map[Network]string{
			NetworkUnsaid: "This browser does not say which network it is on. With “not on mobile data”, photos wait here until you ask.",
			NetworkFree:   "This phone is on Wi-Fi or a cable. Another phone’s hotspot looks the same.",
			NetworkCosts:  "This phone is on mobile data, or its browser was told to save data.",
		},
		Resting: func(n int) string { return count(n, "photo waits", "photos wait") + " on this phone" },
		SendNow: func(n int) string { return "Send " + count(n, "photo", "photos") + " now" },
	}
	enMeasure(c)
	c.Card = Card{
		Title: "What sticks to the card?", Open: "Count the card", Photo: "Photograph the card", PhotoHint: "Lying flat, all four corners in the picture, no reflections.", Working: "Counting …",
		Unproven: "Checked on drawn cards only. Look at the rings, and set the number right.",
		PhotoOf:  func(place string) string { return "Sticky card, " + place },
		Counted: func(count, low, high int) string {
			s := "Counted: " + itoa(count)
			if low < high {
				s += " (" + itoa(low) + "–" + itoa(high) + ")"
			}
			return s
		},
		Cannot: map[string]string{
			"no_card": "No yellow or blue card with four straight sides was found. Count by eye.", "cut": "The card goes on beyond the picture. Take it again, or count by eye.",
			"too_small": "The card is too small in the picture. Go closer, or count by eye.", "too_dark": "The photo is too dark. Take it again, or count by eye.",
			"glare": "Too much of the card reflects light. Take it again from another side, or count by eye.", "blurred": "The photo is blurred. Take it again, or count by eye.",
			"crowded": "So much sticks to it that single specks cannot be told apart. Estimate by eye, and hang a new card.",
		},
		Right: "Set the rings right", RightHint: "Tap the photo: on a speck without a ring, or on a ring without a speck.",
		Add: "Taps add rings", Take: "Taps take rings away",
		Pest: "Which pest (may stay open)", PestHint: "What you judge it to be. The photo cannot tell.", AnyPest: "Not said",
		Count: "How many", CountHint: "Follows the rings, or set it by hand.", Colour: "Colour", Yellow: "Yellow", Blue: "Blue",
		Before: "Read before",
		Reading: func(day string, count int, pest string, replaced bool) string {
			s := day + ": " + itoa(count)
			if pest != "" {
				s += ", " + pest
			}
			if replaced {
				s += "; a new card since then"
			}
			return s
		},
		Replaced: "A new card hangs there now", ReplacedHint: "The next count begins from nothing.",
	}
	c.Recovery = Recovery{
		Title: "Recovery", Open: "Recovery by photos", Strip: "Photos by date", Unmeasured: "Not measured",
		NoneTitle: "No photo yet", None: "A photo of the same leaf every week shows best whether it gets better.",
		BeforeAfter: "Before and after", Before: "Older photo", After: "Newer photo", Working: "Laying the photos over each other …", Slider: "How much of the newer photo",
		Over:        func(before, after string) string { return before + ". Over it: " + after },
		CannotTitle: "These two cannot be laid over each other",
		TakeAlong:   "Take it along", TakeAlongHint: "For somebody who advises you, or for your own records. Photos carry no position.",
		Sheet: "Sheet to print", Print: "Print", Pack: "Save photos and figures as a ZIP", PackStop: "Stop",
		SheetTitle: func(plant string) string { return "Recovery of " + plant },
		Packed:     func(n, of int) string { return "Packing: " + itoa(n) + " of " + count(of, "photo", "photos") },
		Missing: func(n int) string {
			return count(n, "photo is", "photos are") + " not on this phone and not in the file. Try again online."
		},
		Older: func(n int) string {
			return count(n, "figure of an older method is", "figures of older methods are") + " left out: methods are not compared."
		},
		ReadMe: []string{
			"damage.csv: one line for each photo. Shares are per cent of the leaf, with the bounds of the figure. A line without a figure was not measured.",
			"events.csv: treatments and clean new growth. Days are those of the household.",
			"photos: as they are kept, without position and other private metadata.",
			"Only figures of the same method number may be compared. A figure with the verdict “rejected” was called wrong by a person.",
		},
		HandLay: "Lay them over each other by hand", HandInstead: "Laid wrongly? Do it by hand", HandLaid: "Laid by hand, from two places on both photos.",
		HandPlace: []string{"First place: the dot", "Second place: the cross"},
		HandHow:   "Tap the same place of the leaf on both photos, such as its tip. The second one far from the first, such as where the stalk begins.",
		HandNext:  "Next place", HandBoth: "Show the place on both photos first.", HandAgain: "From the beginning", HandStop: "Leave it",
		HandSteps: "Without tapping the photo",
		Cannot: map[string]string{
			"too_small": "One of them has too few pixels. They stand side by side.", "too_plain": "There is too little to hold on to, or one is blurred. They stand side by side.",
			"no_match": "Too few places agree. Perhaps it is another leaf. They stand side by side.", "unsure": "Places agree, but not surely enough. They stand side by side.",
			"differs_there": "What is around the leaf agrees, and the leaf does not. They stand side by side.",
		},
		Trend: "Damaged share of the leaf", NoTrend: "Measure a photo, and its figure stands here.",
		TrendNote: "Per cent, with the interval of each figure. Only the newest method’s figures are here. Broken lines are treatments. Leaves that are damaged stay damaged: look at new growth too.",
		Day:       "Day", Damaged: "Damaged", Growing: "Clean new growth seen",
		Drawn: func(first, share, last, lastShare string) string {
			return first + ": " + share + ". " + last + ": " + lastShare + "."
		},
	}
}

func enMeasure(c *Catalogue) {
	said := func(words string) func(string) string {
		return func(share string) string { return words + share }
	}
	c.Measure = Measure{
		Title: "How much is damaged?", Open: "Measure this leaf", Working: "Measuring the leaf …",
		Damaged:     "of the leaf is discoloured, yellow to brown.",
		CannotTitle: "Cannot tell",
		Share: func(about, low, high float64) string {
			return "about " + enShare(about) + " % (" + enShare(low) + "–" + enShare(high) + ")"
		},
		Method: func(version, confidence int) string {
			return "Method " + itoa(version) + ", confidence " + itoa(confidence) + " of 100. Figures of different methods make no trend."
		},
		CannotTell: map[string]string{
			"blurred": "The photo is blurred. Take it again, closer and steadier.", "too_dark": "The photo is too dark. Take it again in the shade by a window.",
			"too_bright": "The photo is too bright. Take it again in shade.", "too_small": "The photo has too few pixels.", "too_large": "The photo has too many pixels.",
			"not_plain": "What lies behind the leaf is not plain. Lay the leaf on white paper, or go so close that it fills the picture.",
			"no_leaf":   "There is no leaf to be seen. Draw its outline, or take the photo again.", "several_leaves": "There are several leaves. Photograph one, or draw its outline.",
			"leaf_cut_off": "The leaf goes on beyond the picture. Photograph all of it, or go so close that it fills the picture.",
			"bad_outline":  "The outline holds next to nothing. Move its points to the leaf’s edge.",
		},
		Worth: "What the figure is worth",
		Unproven: []string{
			"The brackets hold the figure for eight photos in ten, on the photos the method was fitted to.",
			"Pale stippling and silvering, as mites and thrips leave them, are not in the figure: no open set of photos shows how far to trust it there.",
			"One figure says little. Weigh the trend of the same leaf, and your own eyes, above it.",
		},
		Agree: "That is about right", Reject: "That is wrong", Correct: "Correct the outline", Again: "Measure inside this outline",
		HowTo: "Tap the photo: the nearest point moves there. Or choose a point and move it with the buttons.",
		Said:  "Noted",
		Point: func(n, of int) string { return "Point " + itoa(n) + " of " + itoa(of) },
		Next:  "Next point", Left: "Left", Right: "Right", Up: "Up", Down: "Down", More: "More points", Fewer: "Fewer points",
		Noted: map[model.Verdict]func(string) string{
			model.Unchecked: said("Noted: "), model.Agreed: said("Noted and agreed to: "),
			model.Outlined: said("Noted, with an outline by hand: "), model.Rejected: said("Noted as wrong: "),
		},
	}
}

// enShare is a share in per cent: whole ones, and a decimal where whole ones say nothing.
func enShare(percent float64) string {
	decimals := 0
	if percent > 0 && percent < 2 {
		decimals = 1
	}
	return strconv.FormatFloat(percent, 'f', decimals, 64)
}
