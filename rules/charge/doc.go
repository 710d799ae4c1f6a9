// Package charge judges a refrigerant charge by the published field procedure
// (California Reference Residential Appendix RA3.2): a fixed orifice by superheat
// against a table, an expansion valve by subcooling against the plate.
//
// A charge is judged only where the procedure holds: warm enough outside and inside,
// airflow verified first, the machine settled. Where it does not, the verdict names
// each condition that fails and judges nothing. Even a judged charge is one sign:
// on laboratory data the procedure performed poorly by itself (Yuill and Braun 2012),
// so a fault is called only with a second, independent one.
//
// Temperatures and differences are °F, times minutes; NaN is a reading not taken.
package charge
