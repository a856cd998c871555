import { fileURLToPath } from 'node:url';
import { isWelcome, licencesOf } from './support/licences.ts';

// npm run licences: who stands under which licence, from the lock files; red where one is not welcome.
for (const folder of ['..', 'mutants']) {
  const all = licencesOf(fileURLToPath(new URL(folder, import.meta.url)));
  console.log(folder === '..' ? 'The house:' : '\nThe mutation tools, installed by npm run mutants:');
  const byLicence = Object.entries(Object.groupBy(all, ({ licence }) => licence));
  for (const [licence, packages = []] of byLicence.sort(([, a = []], [, b = []]) => b.length - a.length)) {
    const named = packages.map(({ name, dev }) => (dev ? `${name} (tests)` : name));
    const few = named.length <= 6 ? `: ${[...new Set(named)].join(', ')}` : '';
    console.log(`${String(packages.length).padStart(5)}  ${licence}${few}`);
  }
  for (const one of all.filter((each) => !isWelcome(each))) {
    console.error(`${one.name} ${one.version}: ${one.licence} is not one of ours`);
    process.exitCode = 1;
  }
}
