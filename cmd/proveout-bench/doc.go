// Command proveout-bench runs the benchmarks behind the bars of scale and speed and
// prints one table: each bar, what was measured, and the reference measured in the same
// run. It judges and changes nothing; with --strict its exit code says whether all holds.
package main
