package cooling

import (
	"railtally/internal/sensing"
	"railtally/internal/tally"
)

// DocumentFormat names the JSON form and its version. A new version is due
// when a field changes its meaning or goes; fields may be added without one.
const DocumentFormat = "railtally cooling 1"

// Document is the stable JSON form of a cooling. All figures are SI, and °C
// for temperatures, unrounded. docs/cooling.md describes it.
type Document struct {
	Format string     `json:"format"`
	Study  string     `json:"study"`
	Level  float64    `json:"level"`
	Boards []DocBoard `json:"boards"`
}

// DocBoard is one board.
type DocBoard struct {
	Name     string            `json:"name"`
	Chip     string            `json:"chip,omitempty"`
	Asked    *DocAsk           `json:"asked,omitempty"`
	Answers  []DocAnswer       `json:"answers"`
	Points   []DocPoint        `json:"points"`
	Path     *DocPath          `json:"path,omitempty"`
	Model    *DocModel         `json:"model,omitempty"`
	NoModel  string            `json:"no_model,omitempty"`
	Trial    *DocTrial         `json:"trial,omitempty"`
	Others   []DocCandidate    `json:"candidates"`
	Cautions []string          `json:"cautions"`
	Findings []sensing.Finding `json:"findings"`
}

// DocAsk is what the cooling must stand.
type DocAsk struct {
	Power     tally.DocFigure `json:"power_w"`
	FromState string          `json:"from_state,omitempty"`
	Room      tally.DocFigure `json:"room_c"`
	Altitude  float64         `json:"altitude_m"`
}

// DocAnswer is one answer.
type DocAnswer struct {
	Question    string   `json:"question"`
	Verdict     Verdict  `json:"verdict"`
	Probability *float64 `json:"probability,omitempty"`
	Text        string   `json:"text"`
	Rests       string   `json:"rests,omitempty"`
}

// DocPoint is one temperature.
type DocPoint struct {
	Name       string         `json:"name"`
	Kind       string         `json:"kind"`
	Limit      *float64       `json:"limit_c,omitempty"`
	Law        *DocLaw        `json:"law,omitempty"`
	Prediction *DocPrediction `json:"prediction,omitempty"`
	Readings   []DocReading   `json:"readings"`
}

// DocLaw is a fitted law: rise = Rise·(P/P0)^Exponent.
type DocLaw struct {
	P0              float64         `json:"p0_w"`
	Rise            tally.DocFigure `json:"rise_k"`
	Exponent        tally.DocFigure `json:"exponent"`
	Beforehand      float64         `json:"beforehand"`
	Alone           *float64        `json:"exponent_alone,omitempty"`
	UAlone          *float64        `json:"u_exponent_alone,omitempty"`
	Scatter         float64         `json:"scatter_k"`
	ScatterAssessed bool            `json:"scatter_assessed"`
	Readings        int             `json:"readings"`
	LowestPower     float64         `json:"lowest_power_w"`
	HighestPower    float64         `json:"highest_power_w"`
}

// DocPrediction is the temperature at what is asked.
type DocPrediction struct {
	Temperature tally.DocFigure `json:"temperature_c"`
	Probability *float64        `json:"probability,omitempty"`
	Margin      *float64        `json:"margin_k,omitempty"`
	MostPower   *float64        `json:"most_power_w,omitempty"`
	WarmestRoom *float64        `json:"warmest_room_c,omitempty"`
	Beyond      bool            `json:"beyond_measured,omitempty"`
}

// DocReading is one reading.
type DocReading struct {
	State       string          `json:"state"`
	Sitting     string          `json:"sitting"`
	Power       tally.DocFigure `json:"power_w"`
	Temperature tally.DocFigure `json:"temperature_c"`
	Rise        tally.DocFigure `json:"rise_k"`
	Resistance  tally.DocFigure `json:"resistance_k_w"`
	Settling    *DocSettling    `json:"settling,omitempty"`
	Unsettled   string          `json:"unsettled,omitempty"`
}

// DocSettling is what a series says.
type DocSettling struct {
	Readings    int      `json:"readings"`
	Final       float64  `json:"final_c"`
	U           float64  `json:"u"`
	Remaining   float64  `json:"remaining_k"`
	Seen        float64  `json:"seen"`
	Tau         float64  `json:"tau_s"`
	Exponential float64  `json:"plain_exponential_c"`
	Settled     bool     `json:"settled"`
	Warnings    []string `json:"warnings,omitempty"`
}

// DocPath is the ladder of the heat path.
type DocPath struct {
	Power    tally.DocFigure `json:"power_w"`
	Rungs    []DocRung       `json:"rungs"`
	Up       *float64        `json:"up_w,omitempty"`
	Radiated *float64        `json:"radiated_w,omitempty"`
	Down     *float64        `json:"down_w,omitempty"`
}

// DocRung is one rung; Step is the resistance to the rung below.
type DocRung struct {
	Name        string           `json:"name"`
	Temperature tally.DocFigure  `json:"temperature_c"`
	Limit       *float64         `json:"limit_c,omitempty"`
	Step        *tally.DocFigure `json:"step_k_w,omitempty"`
}

// DocModel is the model of the sink.
type DocModel struct {
	Calibrated bool             `json:"calibrated"`
	At         string           `json:"at,omitempty"`
	Factor     *tally.DocFigure `json:"factor,omitempty"`
	Interface  *tally.DocFigure `json:"interface_k_w,omitempty"`
	Sink       *DocSink         `json:"sink,omitempty"`
}

// DocSink is a sink as it was computed.
type DocSink struct {
	Kind       string  `json:"kind"`
	Width      float64 `json:"width_m"`
	Length     float64 `json:"length_m"`
	Base       float64 `json:"base_m"`
	Fins       int     `json:"fins,omitempty"`
	Height     float64 `json:"fin_height_m,omitempty"`
	Thickness  float64 `json:"fin_thickness_m,omitempty"`
	Gap        float64 `json:"gap_m,omitempty"`
	Stand      string  `json:"stands"`
	Emissivity float64 `json:"emissivity"`
}

// DocTrial is a change that was tried.
type DocTrial struct {
	Sink        *DocSink   `json:"sink,omitempty"`
	AirSpeed    *float64   `json:"air_speed_m_s,omitempty"`
	Ratio       *float64   `json:"ratio,omitempty"`
	Discrepancy float64    `json:"discrepancy"`
	Points      []DocTried `json:"points"`
	Doubts      []string   `json:"doubts"`
}

// DocCandidate is another way to cool the chip; Error tells why it was not
// computed.
type DocCandidate struct {
	Name       string            `json:"name"`
	What       string            `json:"what,omitempty"`
	Settings   map[string]string `json:"settings"`
	Point      string            `json:"point,omitempty"`
	Prediction *DocPrediction    `json:"prediction,omitempty"`
	Error      string            `json:"error,omitempty"`
}

// DocTried is a temperature after a change.
type DocTried struct {
	Name       string        `json:"name"`
	Prediction DocPrediction `json:"prediction"`
}
