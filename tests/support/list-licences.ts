import { ACCEPTED, licensedPackages } from './licences.js';

/** `npm run licences`: what is installed with the service, by licence; status 1 when one is not among those accepted. */
const packages = licensedPackages();
let last = '';
for (const { name, version, licence } of packages) {
  if (licence !== last) console.log(`\n${licence}${ACCEPTED.has(licence) ? '' : '  <- not among those accepted'}`);
  last = licence;
  console.log(`  ${name} ${version}`);
}
const refused = packages.filter(({ licence }) => !ACCEPTED.has(licence));
console.log(`\n${packages.length} packages, ${refused.length} under a licence that is not accepted`);
if (refused.length > 0) process.exitCode = 1;
