package refdata

// profiles holds what is known, by species.
var profiles = [...]Profile{
	WesternFlowerThrips: westernFlowerThrips,
	BroadMite:           {},
}
