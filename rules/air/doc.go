// Package air computes moist air by the equations of the ASHRAE Handbook,
// Fundamentals, chapter 1 (Psychrometrics, inch-pound), and from it what the air side
// of a machine carries: heat, airflow, static pressure, temperature split.
//
// Temperatures are °F, pressures psia (air.Atmosphere gives the local one), humidity
// ratios lb of water in 1 lb of dry air, enthalpies Btu for 1 lb of dry air, airflow
// cfm, heat Btu/h.
package air
