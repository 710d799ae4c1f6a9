// Package refrigerant turns saturation pressure into temperature and back, on the
// bubble and on the dew line, from the published tables in knowledge, and finds
// superheat and subcooling by them.
//
// A temperature is °F. A pressure is psia unless its name says gauge: what a gauge
// reads is turned into absolute pressure with the local atmosphere first (Absolute),
// because the refrigerant knows no altitude. Superheat goes with dew, subcooling
// with bubble; a refrigerant of one substance has the same line for both.
//
// Between two rows ln p is straight in 1/T (Clausius–Clapeyron), which with rows
// every 5 °F lies within 0.05 °F of the equation of state; temperature and pressure
// are each other's inverse to the last few bits.
package refrigerant
