package texts

func enPhotos(c *Catalogue) {
	c.Photos = Photos{
		Working: func(n int) string {
			if n == 1 {
				return "Keeping the photo …"
			}
			return "Keeping " + itoa(n) + " photos …"
		},
		Kept: "Kept on this phone", Again: "Take it again", Remove: "Remove",
		Doubt: map[string]string{
			"blurred": "Blurred. Take it again?", "too_dark": "Too dark. Take it again?", "too_bright": "Too bright. Take it again?",
			"too_small": "Very small. Take it again?", "too_large": "Too large to judge.",
		},
	}
}
