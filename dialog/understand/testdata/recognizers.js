// Prints, for every message on standard input (a JSON string a line), the figures
// the outside packages find in it: a JSON array a line.
const path = require('path');
const folder = process.argv[2];
const numbers = require(path.join(folder, 'recognizers-text-number'));
const units = require(path.join(folder, 'recognizers-text-number-with-unit'));
const culture = numbers.Culture.English;

const found = (text) => {
  const out = [];
  for (const r of numbers.recognizeNumber(text, culture)) {
    out.push({ first: r.start, last: r.end + 1, value: r.resolution ? String(r.resolution.value) : '', unit: '' });
  }
  for (const read of [units.recognizeDimension, units.recognizeTemperature]) {
    for (const r of read(text, culture)) {
      if (r.resolution && r.resolution.value) {
        out.push({ first: r.start, last: r.end + 1, value: String(r.resolution.value), unit: String(r.resolution.unit) });
      }
    }
  }
  return out;
};

require('readline').createInterface({ input: process.stdin }).on('line', (line) => {
  console.log(JSON.stringify(found(JSON.parse(line))));
});
