package model

import (
	"unicode/utf8"

	"github.com/google/uuid"
)

// Field names a field of a record. The numbers are on disk and on the wire: do
// not reorder or reuse them.
type Field uint8

// The fields, by kind of record.
const (
	HouseholdName        Field = 1
	HouseholdZone        Field = 2
	HouseholdChildren    Field = 3
	HouseholdPets        Field = 4
	HouseholdNoChemicals Field = 5
	HouseholdTurn        Field = 6

	MemberName      Field = 1
	MemberDigestAt  Field = 2
	MemberEvening   Field = 3
	MemberQuietFrom Field = 4
	MemberQuietTo   Field = 5
	MemberAwayFrom  Field = 6
	MemberAwayUntil Field = 7
	MemberEnds      Field = 8

	DeviceName Field = 1

	PlaceName       Field = 1
	PlaceRoundEvery Field = 2
	PlaceOrder      Field = 3
	PlaceRemoved    Field = 4
	PlaceColdest    Field = 5
	PlaceWarmest    Field = 6
	PlaceCard       Field = 7
	PlaceTurn       Field = 8
	PlaceTurnOf     Field = 9
	PlaceTurnSet    Field = 10

	PlantName      Field = 1
	PlantSpecies   Field = 2
	PlantPlace     Field = 3
	PlantNote      Field = 4
	PlantEdible    Field = 5
	PlantSensitive Field = 6
	PlantRemoved   Field = 7
	PlantWeak      Field = 8
	PlantThinLeaf  Field = 9
	PlantCuttingOf Field = 10
	PlantPotTop    Field = 11
	PlantPotBottom Field = 12
	PlantPotHeight Field = 13

	ProductName          Field = 1
	ProductMeans         Field = 2
	ProductActive        Field = 3
	ProductGroup         Field = 4
	ProductRateUnit      Field = 5
	ProductRateMilli     Field = 6
	ProductMixPerPlantMl Field = 7
	ProductMinInterval   Field = 8
	ProductMaxPerSeason  Field = 9
	ProductReentryHours  Field = 10
	ProductPests         Field = 11
	ProductCautions      Field = 12
	ProductStockMilli    Field = 13
	ProductEdibleAllowed Field = 14
	ProductMaxCelsius    Field = 15
	ProductRemoved       Field = 16
	ProductSite          Field = 17
	ProductMostInRow     Field = 18

	OutbreakPest    Field = 1
	OutbreakNote    Field = 2
	OutbreakOpened  Field = 3
	OutbreakClosed  Field = 4
	OutbreakAffects Field = 5 // one register per plant, see FieldKey
	OutbreakSpecies Field = 6
)

// FieldKey names one register of a record: a field, and for fields that hold a
// set the member of the set.
type FieldKey struct {
	Field Field
	Sub   uuid.UUID
}

// ValueType is what a field may hold.
type ValueType uint8

// The value types.
const (
	TypeText ValueType = iota + 1
	TypeInt
	TypeBool
	TypeID
)

// Value is what a field was set to. It is comparable.
type Value struct {
	Type ValueType
	Text string
	Int  int64 // also holds a bool, as 0 or 1
	ID   uuid.UUID
}

// Text makes a text value.
func Text(s string) Value { return Value{Type: TypeText, Text: s} }

// Int makes an integer value.
func Int[N ~int | ~int32 | ~int64 | ~uint8](n N) Value { return Value{Type: TypeInt, Int: int64(n)} }

// Bool makes a truth value.
func Bool(b bool) Value {
	v := Value{Type: TypeBool}
	if b {
		v.Int = 1
	}
	return v
}

// IDValue makes a value that names another record.
func IDValue[Of any](id ID[Of]) Value { return Value{Type: TypeID, ID: uuid.UUID(id)} }

// True reports whether a truth value is set.
func (v Value) True() bool { return v.Int != 0 }

// FieldSpec says what one field of a kind may hold.
type FieldSpec struct {
	Name     string // for logs and exports, lower_snake_case
	Type     ValueType
	Min, Max int64 // bounds of an integer; Max is the most bytes of a text
	Set      bool  // a register per member of a set
}

const (
	shortText = 200
	longText  = 4000
	maxDay    = 2932896 // 9999-12-31

	lastMinute = 24*60 - 1
	maxPot     = 5000 // millimetres
)

var specs = map[Kind]map[Field]FieldSpec{
	KindHousehold: {
		HouseholdName:        {Name: "name", Type: TypeText, Max: shortText},
		HouseholdZone:        {Name: "zone", Type: TypeText, Max: 64},
		HouseholdChildren:    {Name: "children", Type: TypeBool},
		HouseholdPets:        {Name: "pets", Type: TypeBool},
		HouseholdNoChemicals: {Name: "no_chemicals", Type: TypeBool},
		HouseholdTurn:        {Name: "turn", Type: TypeInt, Min: 0, Max: int64(Rotating)},
	},
	KindMember: {
		MemberName:      {Name: "name", Type: TypeText, Max: shortText},
		MemberDigestAt:  {Name: "digest_at_minute", Type: TypeInt, Min: 0, Max: lastMinute},
		MemberEvening:   {Name: "evening_note", Type: TypeBool},
		MemberQuietFrom: {Name: "quiet_from_minute", Type: TypeInt, Min: 0, Max: lastMinute},
		MemberQuietTo:   {Name: "quiet_to_minute", Type: TypeInt, Min: 0, Max: lastMinute},
		MemberAwayFrom:  {Name: "away_from", Type: TypeInt, Min: 0, Max: maxDay},
		MemberAwayUntil: {Name: "away_until", Type: TypeInt, Min: 0, Max: maxDay},
		MemberEnds:      {Name: "ends", Type: TypeInt, Min: 0, Max: maxDay},
	},
	KindDevice: {DeviceName: {Name: "name", Type: TypeText, Max: shortText}},
	KindPlace: {
		PlaceName:       {Name: "name", Type: TypeText, Max: shortText},
		PlaceRoundEvery: {Name: "round_every_days", Type: TypeInt, Min: 1, Max: 60},
		PlaceOrder:      {Name: "order", Type: TypeInt, Min: 0, Max: 100000},
		PlaceRemoved:    {Name: "removed", Type: TypeBool},
		PlaceColdest:    {Name: "coldest_tenths_celsius", Type: TypeInt, Min: -500, Max: 600},
		PlaceWarmest:    {Name: "warmest_tenths_celsius", Type: TypeInt, Min: -500, Max: 600},
		PlaceCard:       {Name: "card", Type: TypeInt, Min: 0, Max: int64(BlueCard)},
		PlaceTurn:       {Name: "turn", Type: TypeInt, Min: 0, Max: int64(Rotating)},
		PlaceTurnOf:     {Name: "turn_of", Type: TypeID},
		PlaceTurnSet:    {Name: "turn_set", Type: TypeBool},
	},
	KindPlant: {
		PlantName:      {Name: "name", Type: TypeText, Max: shortText},
		PlantSpecies:   {Name: "species", Type: TypeText, Max: shortText},
		PlantPlace:     {Name: "place", Type: TypeID},
		PlantNote:      {Name: "note", Type: TypeText, Max: longText},
		PlantEdible:    {Name: "edible", Type: TypeBool},
		PlantSensitive: {Name: "sensitive", Type: TypeBool},
		PlantRemoved:   {Name: "removed", Type: TypeBool},
		PlantWeak:      {Name: "weak", Type: TypeBool},
		PlantThinLeaf:  {Name: "thin_leaves", Type: TypeBool},
		PlantCuttingOf: {Name: "cutting_of", Type: TypeID},
		PlantPotTop:    {Name: "pot_top_mm", Type: TypeInt, Min: 0, Max: maxPot},
		PlantPotBottom: {Name: "pot_bottom_mm", Type: TypeInt, Min: 0, Max: maxPot},
		PlantPotHeight: {Name: "pot_height_mm", Type: TypeInt, Min: 0, Max: maxPot},
	},
	KindProduct: {
		ProductName:          {Name: "name", Type: TypeText, Max: shortText},
		ProductMeans:         {Name: "means", Type: TypeInt, Min: 1, Max: int64(MeansWater)},
		ProductActive:        {Name: "active_ingredient", Type: TypeText, Max: shortText},
		ProductGroup:         {Name: "mode_of_action_group", Type: TypeText, Max: 40},
		ProductRateUnit:      {Name: "rate_unit", Type: TypeInt, Min: 1, Max: int64(RateGramPerLitre)},
		ProductRateMilli:     {Name: "rate_thousandths", Type: TypeInt, Min: 0, Max: 1_000_000},
		ProductMixPerPlantMl: {Name: "mix_per_plant_ml", Type: TypeInt, Min: 0, Max: 100_000},
		ProductMinInterval:   {Name: "shortest_interval_days", Type: TypeInt, Min: 0, Max: 400},
		ProductMaxPerSeason:  {Name: "most_per_season", Type: TypeInt, Min: 0, Max: 400},
		ProductReentryHours:  {Name: "reentry_hours", Type: TypeInt, Min: 0, Max: 2400},
		ProductPests:         {Name: "pests_on_label", Type: TypeText, Max: longText},
		ProductCautions:      {Name: "cautions_on_label", Type: TypeText, Max: longText},
		ProductStockMilli:    {Name: "stock_thousandths", Type: TypeInt, Min: 0, Max: 100_000_000},
		ProductEdibleAllowed: {Name: "food_plants_on_label", Type: TypeBool},
		ProductMaxCelsius:    {Name: "hottest_celsius", Type: TypeInt, Min: 0, Max: 60},
		ProductRemoved:       {Name: "removed", Type: TypeBool},
		ProductSite:          {Name: "site_on_label", Type: TypeInt, Min: 0, Max: int64(SiteRuledOut)},
		ProductMostInRow:     {Name: "most_in_row", Type: TypeInt, Min: 0, Max: 400},
	},
	KindOutbreak: {
		OutbreakPest:    {Name: "pest", Type: TypeInt, Min: 0, Max: int64(PestBroadMite)},
		OutbreakNote:    {Name: "note", Type: TypeText, Max: longText},
		OutbreakOpened:  {Name: "opened", Type: TypeInt, Min: 0, Max: maxDay},
		OutbreakClosed:  {Name: "closed", Type: TypeInt, Min: 0, Max: maxDay},
		OutbreakAffects: {Name: "affects", Type: TypeBool, Set: true},
		OutbreakSpecies: {Name: "species", Type: TypeInt, Min: 0, Max: 255},
	},
}

// Spec says what the field of a kind may hold, or that there is no such field.
func Spec(k Kind, f Field) (FieldSpec, bool) {
	s, ok := specs[k][f]
	return s, ok
}

// ValidateField checks one setting of one field.
func ValidateField(k Kind, key FieldKey, v Value) error {
	spec, ok := Spec(k, key.Field)
	switch {
	case !ok:
		return ErrUnknownField
	case spec.Type != v.Type, spec.Set == (key.Sub == uuid.UUID{}):
		return ErrInvalid
	case v.Type == TypeText && (int64(len(v.Text)) > spec.Max || !utf8.ValidString(v.Text)):
		return ErrInvalid
	case v.Type == TypeInt && (v.Int < spec.Min || v.Int > spec.Max):
		return ErrInvalid
	case v.Type == TypeBool && v.Int != 0 && v.Int != 1:
		return ErrInvalid
	}
	return nil
}
