package air

// What 1 cfm of standard air (0.075 lb/ft³, 0.24 Btu/lb·°F) carries in an hour: 60 ×
// 0.075 × 0.24 Btu for each °F, and 60 × 0.075 for each Btu/lb of enthalpy.
const (
	sensibleFactor = 60 * 0.075 * 0.24 // 1.08 Btu/h for each cfm and °F
	totalFactor    = 60 * 0.075        // 4.5 Btu/h for each cfm and Btu/lb
)

// WattHeat is the heat of 1 W, Btu/h, as the trade rounds it (3413 Btu/kWh).
const WattHeat = 3.413

// SensibleFactor is Btu/h for each cfm and °F at a pressure (psia): 1.08 at sea
// level, less where the air is thinner.
func SensibleFactor(pressure float64) float64 { return sensibleFactor * pressure / StandardPressure }

// TotalFactor is Btu/h for each cfm and Btu/lb at a pressure (psia): 4.5 at sea level.
func TotalFactor(pressure float64) float64 { return totalFactor * pressure / StandardPressure }

// SensibleHeat is what an airflow (cfm) gives up or takes on as its dry bulb changes
// by a difference (°F) at a pressure (psia), Btu/h.
func SensibleHeat(cfm, difference, pressure float64) float64 {
	return SensibleFactor(pressure) * cfm * difference
}

// TotalHeat is what an airflow (cfm) gives up or takes on, sensible and latent, as its
// enthalpy changes by a difference (Btu/lb) at a pressure (psia), Btu/h.
func TotalHeat(cfm, difference, pressure float64) float64 {
	return TotalFactor(pressure) * cfm * difference
}

// AirflowFromHeat is the airflow, cfm, that a heat output (Btu/h) warms by a rise (°F)
// at a pressure (psia). The output is what reaches the air: a burner's input times
// its efficiency.
func AirflowFromHeat(heat, rise, pressure float64) (float64, error) {
	if !(heat > 0) {
		return 0, &RangeError{"heat", heat, 0, 1e7, "Btu/h", "take it with the heat on"}
	}
	if !(rise > 0) {
		return 0, &RangeError{"temperature rise", rise, 0, 200, "°F", "take it with the heat on, supply less return, out of sight of the elements"}
	}
	return heat / (SensibleFactor(pressure) * rise), nil
}

// AirflowFromElectricHeat is the airflow, cfm, that electric heat (W, measured volts ×
// amps) warms by a rise (°F) at a pressure (psia): kW × 3413 / (1.08 × rise) at sea
// level, with the blower on the speed it cools with.
func AirflowFromElectricHeat(watts, rise, pressure float64) (float64, error) {
	return AirflowFromHeat(watts*WattHeat, rise, pressure)
}
