package quantity

// Unit names one kind of physical quantity, held in its coherent SI unit. Units are comparable
// and the zero Unit is None, a plain ratio.
type Unit uint8

// The units that a study is written in. Celsius is a temperature, Kelvin a difference of
// temperatures; percent and ppm are ways to write None.
const (
	None Unit = iota
	Volt
	Ampere
	Ohm
	Watt
	Celsius
	Kelvin
	Second
	Metre
	SquareMetre
	Hertz
	Henry
	Farad
	Byte
	Bit
	BytePerSecond
	BitPerSecond
	AmperePerVolt
	VoltPerAmpere
	AmperePerSecond
	VoltPerSecond
	PerKelvin
	KelvinPerWatt
	MetrePerSecond
	numUnits
)

// dimension is what there is to know of one Unit.
type dimension struct {
	name     string // what a quantity of this unit is called: "voltage"
	symbol   string // the coherent SI unit: "V"
	accept   string // how a person may write it
	prefixes []int  // powers of ten that are printed with a prefix, ascending
	power    int    // 2 where the prefix is squared with the unit, as in mm²; otherwise 1
	compound bool   // whether the unit is a quotient num/den of two others
	num, den Unit
}

// dimensionOf returns the facts of u; an unknown unit is treated as None.
func dimensionOf(u Unit) dimension {
	if u >= numUnits {
		u = None
	}
	return dimensions[u]
}

// dimensions is read only. The range of prefixes is what occurs on a bench: a wider one would let
// the slip MV for mV pass.
var dimensions = [numUnits]dimension{
	None:            {name: "ratio", symbol: "", accept: "a plain number, %, ‰, ppm", prefixes: []int{0}, power: 1},
	Volt:            {name: "voltage", symbol: "V", accept: "V, mV, µV, kV", prefixes: []int{-9, -6, -3, 0, 3}, power: 1},
	Ampere:          {name: "current", symbol: "A", accept: "A, mA, µA, nA", prefixes: []int{-12, -9, -6, -3, 0, 3}, power: 1},
	Ohm:             {name: "resistance", symbol: "Ω", accept: "Ω, mΩ, µΩ, kΩ, MΩ, ohm, mOhm, milliohm", prefixes: []int{-6, -3, 0, 3, 6, 9}, power: 1},
	Watt:            {name: "power", symbol: "W", accept: "W, mW, µW, kW", prefixes: []int{-9, -6, -3, 0, 3}, power: 1},
	Celsius:         {name: "temperature", symbol: "°C", accept: "°C, C, degC, K", prefixes: []int{0}, power: 1},
	Kelvin:          {name: "temperature difference", symbol: "K", accept: "K, mK, °C", prefixes: []int{0}, power: 1},
	Second:          {name: "time", symbol: "s", accept: "s, ms, µs, min, h, d", prefixes: []int{-12, -9, -6, -3, 0}, power: 1},
	Metre:           {name: "length", symbol: "m", accept: "m, mm, cm, µm, in", prefixes: []int{-9, -6, -3, 0, 3}, power: 1},
	SquareMetre:     {name: "area", symbol: "m²", accept: "mm², mm2, mm^2, cm², m²", prefixes: []int{-6, 0}, power: 2},
	Hertz:           {name: "frequency", symbol: "Hz", accept: "Hz, kHz, MHz, GHz", prefixes: []int{-3, 0, 3, 6, 9}, power: 1},
	Henry:           {name: "inductance", symbol: "H", accept: "H, mH, µH, nH", prefixes: []int{-12, -9, -6, -3, 0}, power: 1},
	Farad:           {name: "capacitance", symbol: "F", accept: "F, mF, µF, nF, pF", prefixes: []int{-12, -9, -6, -3, 0}, power: 1},
	Byte:            {name: "data size", symbol: "B", accept: "B, kB, MB, GB, TB, MiB, GiB", prefixes: []int{0, 3, 6, 9, 12}, power: 1},
	Bit:             {name: "data size in bits", symbol: "bit", accept: "bit, kbit, Mbit, Gbit, Mb, Gb", prefixes: []int{0, 3, 6, 9, 12}, power: 1},
	BytePerSecond:   {name: "data rate", symbol: "B/s", accept: "B/s, MB/s, GB/s, MiB/s, Gbit/s", prefixes: []int{0, 3, 6, 9, 12}, power: 1, compound: true, num: Byte, den: Second},
	BitPerSecond:    {name: "bit rate", symbol: "bit/s", accept: "bit/s, Mbit/s, Gbit/s, Gbps, GB/s", prefixes: []int{0, 3, 6, 9, 12}, power: 1, compound: true, num: Bit, den: Second},
	AmperePerVolt:   {name: "current per voltage", symbol: "A/V", accept: "A/V, mA/mV, A per V", prefixes: []int{-6, -3, 0, 3}, power: 1, compound: true, num: Ampere, den: Volt},
	VoltPerAmpere:   {name: "voltage per current", symbol: "V/A", accept: "V/A, mV/A, mV per A", prefixes: []int{-6, -3, 0, 3}, power: 1, compound: true, num: Volt, den: Ampere},
	AmperePerSecond: {name: "current drift", symbol: "A/s", accept: "A/s, mA/h, mA per hour", prefixes: []int{-12, -9, -6, -3, 0}, power: 1, compound: true, num: Ampere, den: Second},
	VoltPerSecond:   {name: "voltage drift", symbol: "V/s", accept: "V/s, mV/h, mV per hour", prefixes: []int{-9, -6, -3, 0}, power: 1, compound: true, num: Volt, den: Second},
	PerKelvin:       {name: "temperature coefficient", symbol: "/K", accept: "/K, %/K, ppm/K, ppm/°C", prefixes: []int{0}, power: 1, compound: true, num: None, den: Kelvin},
	KelvinPerWatt:   {name: "thermal resistance", symbol: "K/W", accept: "K/W, °C/W, mK/W", prefixes: []int{0}, power: 1, compound: true, num: Kelvin, den: Watt},
	MetrePerSecond:  {name: "speed", symbol: "m/s", accept: "m/s, mm/s, cm/s", prefixes: []int{-3, 0}, power: 1, compound: true, num: Metre, den: Second},
}

// Symbol returns the coherent SI unit as it is printed: "V", "Ω", "°C", "B/s"; "" for None.
func (u Unit) Symbol() string { return dimensionOf(u).symbol }

// String returns what a quantity of the unit is called: "voltage", "current", "ratio".
func (u Unit) String() string { return dimensionOf(u).name }

// Accept lists how a person may write the unit, for messages beside a field: "A, mA, µA, nA".
func (u Unit) Accept() string { return dimensionOf(u).accept }
