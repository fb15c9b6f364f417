package refdata

// profiles holds what is known, by species. ThripsUnknown has none of its own: it
// is blended from the two it may be.
var profiles = [...]Profile{
	WesternFlowerThrips: westernFlowerThrips,
	OnionThrips:         onionThrips,
	Echinothrips:        echinothrips,
	GreenhouseThrips:    greenhouseThrips,
	TwoSpottedMite:      twoSpottedMite,
	GreenhouseWhitefly:  greenhouseWhitefly,
	GreenPeachAphid:     greenPeachAphid,
	MelonAphid:          melonAphid,
	CitrusMealybug:      citrusMealybug,
	RootMealybug:        rootMealybug,
	BrownSoftScale:      brownSoftScale,
	HemisphericalScale:  hemisphericalScale,
	ArmouredScale:       armouredScale,
	FungusGnat:          fungusGnat,
	BroadMite:           broadMite,
}
