package studyfile

// section is one kind of mapping in the form, with every key it may have. Keys
// that a person makes up (names of rails, states, factors) are not among them.
type section struct {
	name string
	keys []string
}

// The sections of the form, in the order of the reference. The writer keeps the
// order of the keys.
var (
	studySection = section{"study", []string{"study", "note", "words", "level", "equal within", "stale zero", "sitting effect", "decision rule",
		"instruments", "factors", "interactions", "boards", "states", "compare", "claims", "aims", "expected", "work", "order", "both ways", "proofs", "cooling", "done", "bench", "sittings"}}
	instrumentSection = section{"instrument", []string{"kind", "ident", "note", "jaw", "ranges",
		"scale", "digit", "to", "spec", "temperature", "zero drift", "position", "averages",
		"resistance", "temperature coefficient", "heating", "thermal emf", "calibrated"}}
	rangeSection = section{"range", []string{"scale", "digit", "to", "spec", "temperature", "zero drift", "position", "averages", "calibrated"}}

	calibrationSection = section{"calibration", []string{"on", "due", "correction factor", "drift", "by"}}
	factorSection      = section{"factor", []string{"levels", "note"}}
	boardSection       = section{"board", []string{"chip", "note", "defaults", "rails", "inputs"}}
	defaultsSection    = section{"defaults", []string{"feed", "converter", "tap", "loop", "read by", "enters the chip"}}
	railSection        = section{"rail", []string{"nominal", "feed", "converter", "tap", "taps", "loop", "winding", "read by",
		"not opened", "opening", "hangs on", "also feeds", "feeds", "efficiency", "enters the chip", "checks", "note"}}
	tapSection = section{"tap", []string{"tap", "loop", "winding", "read by",
		"temperature coefficient", "heating", "thermal emf"}}
	openingSection = section{"opening", []string{"side", "feedback", "winding sensing", "winding", "inductor", "phases",
		"step", "step time", "capacitor", "load"}}
	supplySection  = section{"hangs on", []string{"rail", "through", "efficiency", "own current"}}
	stateSection   = section{"state", []string{"repeats every", "swings", "note"}}
	compareSection = section{"comparison", []string{"first", "against"}}
	stateOnSection = section{"state of a board", []string{"board", "state"}}
	carriedSection = section{"sitting effect", []string{"sd", "degrees of freedom", "from"}}
	claimSection   = section{"claim", []string{"says", "total", "difference", "ratio", "effect", "share", "throughput", "temperature",
		"predicted", "point", "above", "below", "within", "rule", "note"}}
	effectSection    = section{"effect of a factor", []string{"board", "factor", "level", "from", "with"}}
	predictedSection = section{"predicted temperature", []string{"board", "power", "room", "altitude"}}
	aimSection       = section{"aim", []string{"total", "difference", "to", "note"}}
	expectedSection  = section{"expected current", []string{"current", "scatter"}}
	workSection      = section{"work", []string{"states per zero", "closing zero", "repeats", "passes", "sittings", "by state", "first again", "seed"}}
	orderSection     = section{"order of states", []string{"states", "pinned"}}
	knownLoadSection = section{"known load", []string{"board", "rail", "with", "without", "resistance"}}
	tickSection      = section{"tick", []string{"board", "job", "rail", "state", "skipped", "on", "by", "note"}}
	coolingSection   = section{"cooling of a board", []string{"limits", "limits from", "room", "power", "altitude", "air", "air speed",
		"points", "infrared", "junction above case", "interface", "chip side", "sink", "board", "note"}}
	infraredSection = section{"infrared", []string{"emissivity", "set to"}}
	heatsinkSection = section{"sink", []string{"kind", "width", "length", "base thickness", "fins", "gap", "fin height", "fin thickness",
		"stands", "material", "finish", "emissivity"}}
	boardCoolerSection = section{"board as a cooler", []string{"width", "height", "thickness", "planes", "copper", "faces free", "stands", "emissivity"}}
	benchSection       = section{"bench", []string{"meter", "thermometer", "room", "by"}}
	metersSection      = section{"meters", []string{"current", "voltage"}}
	sittingSection     = section{"sitting", []string{"name", "board", "on", "room", "by", "meter", "thermometer", "note", "steps"}}
	stepSection        = section{"step", []string{"zero", "state", "at", "temperatures", "throughput", "note"}}
	railReadingSection = section{"readings of a rail", []string{"i", "v", "v at feed", "note"}}
	bothWaysSection    = section{"both ways", []string{"forward", "back"}}
	readingSection     = section{"reading", []string{"read", "on", "meter", "from", "with v"}}
)

// sections lists all of them.
func sections() []section {
	return []section{studySection, instrumentSection, rangeSection, calibrationSection, factorSection, boardSection,
		defaultsSection, railSection, tapSection, openingSection, supplySection, stateSection, compareSection, stateOnSection, carriedSection, claimSection, effectSection, predictedSection,
		aimSection, expectedSection, workSection, orderSection, knownLoadSection, tickSection,
		coolingSection, infraredSection, heatsinkSection, boardCoolerSection, benchSection, metersSection, sittingSection, stepSection, railReadingSection, bothWaysSection, readingSection}
}

// has tells whether the section knows a key.
func (s section) has(key string) bool {
	for _, k := range s.keys {
		if k == key {
			return true
		}
	}
	return false
}
