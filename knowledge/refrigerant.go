package knowledge

// Refrigerant is a published saturation table.
type Refrigerant struct {
	Name   string `yaml:"name"`
	Source string `yaml:"source"`
	// Class is the safety class of ASHRAE 34: A1, A2L, A3.
	Class string `yaml:"class"`
	// Table rows are temperature (°F), bubble and dew pressure (psig at sea level).
	Table [][3]float64 `yaml:"table"`
}
