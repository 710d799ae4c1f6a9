// Prints what the npm package psychrolib says of moist air over a grid: one row of
// numbers a line. argv: the package's folder.
const psy = require(process.argv[2]);
psy.SetUnitSystem(psy.IP);
const out = [];
for (let feet = 0; feet <= 7000; feet += 1000) {
  const p = psy.GetStandardAtmPressure(feet);
  for (let db = 20; db <= 120; db += 4) {
    for (let rh = 5; rh <= 100; rh += 5) {
      const w = psy.GetHumRatioFromRelHum(db, rh / 100, p);
      const wb = psy.GetTWetBulbFromRelHum(db, rh / 100, p);
      out.push([feet, db, rh, p, w, wb, psy.GetTDewPointFromRelHum(db, rh / 100), psy.GetMoistAirEnthalpy(db, w),
        psy.GetMoistAirVolume(db, w, p), 100 * psy.GetRelHumFromTWetBulb(db, wb, p)].join(","));
    }
  }
}
console.log(out.join("\n"));
