package heat

// Material is what a sink is made of.
type Material struct {
	Name         string
	Conductivity float64 // W/(m·K)
}

// Materials lists what sinks are made of: figures of handbook class (copper:
// Incropera table A.1; extruded: alloy 6063; die-cast: A380/ADC12), the
// aluminium ones from memory. In still air fins are so good that it hardly
// matters.
func Materials() []Material {
	return []Material{
		{"extruded aluminium", 205},
		{"die-cast aluminium", 96},
		{"copper", 391},
		{"steel", 50},
	}
}

// Finish is what a sink's surface is.
type Finish struct {
	Name                  string
	Emissivity, Low, High float64
}

// Finishes lists surfaces with the emissivity of room-temperature radiation and
// the band it lies in. Colour does not matter: black and clear anodising differ
// by a few hundredths. Anodised: common practice beside Incropera table A.11;
// painted: tables reprinted in infrared cameras' manuals; bare: the same tables,
// its upper end common practice for oxidised mill finish.
func Finishes() []Finish {
	return []Finish{
		{"anodised", 0.80, 0.70, 0.90},
		{"painted", 0.92, 0.87, 0.97},
		{"bare", 0.12, 0.04, 0.20},
	}
}
