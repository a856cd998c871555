import type { Publication } from '../contracts/publication.ts';
import { notChecked } from './verify-reach.ts';

/** What README.md says of words in columns that no single column can say: which arm is A, what a row is about, who named a word. */
export function vocabularyLines({ sessions }: Publication): string[] {
  const withRows = sessions.some(({ rows }) => rows !== null);
  return [
    '## Words in the tables',
    '- Letters of orders (`orders.csv`): A is the arm whose id stands in `figures.csv` under the figure `settings.armIds.1` of the same session and part, B the one under `settings.armIds.2`; `arms.csv` has the names of ids. A letter in brackets is a marked reference. A tray of `trays.csv` has the order of its cups by `position`, each cup the arm of its sample in `samples.csv`.',
    '- `counted` is what the test counts: right answers; where no answer is right (a preference, a pair without a direction), answers for arm A.',
    '- Keys as `s1` in `figures.csv` name the samples of a result: `samples.<n>.key` of the part has the key, `samples.<n>.name` the name, which is `name` in `samples.csv`. A hidden duplicate is counted with the sample of its arm.',
    '- Groups of `descriptor-counts.csv`: of a description the sample a word was checked for; of a test the answers it was named with (`right` and `not right`, or the arms); of a preference `preferred the first arm` (A), `preferred the second arm` (B) and `no preference`; of a same-different test `called different` and `called the same`. A word that is not there was named by nobody, or by too few people to be told.',
    ...(withRows
      ? [
          '- A row of `answers.csv` is one observation. `choice`: `right` or `not right`, or the name of the arm that was chosen, or `no preference`; of a same-different test what the pair was and was called (`same pair, called different`). `confidence`: `certain`, `fairly-sure` or `guess`. `told apart by`: a word named after a choice. `rank`: place of the cup in its order, from 1 for least. `degree of difference`: 0 for the first degree. `liking`: 1 to 9. The name of an attribute: its mark.',
          '- Of a description there is a row for each word that was checked: 1, or how strong it was (1 faint, 2 clear, 3 strong); a word without a row was not checked for that cup. `none of these`: no word fitted. `another word`: stands for words that too few people gave. ‘, after 60 s’ behind a word: said at the late question.',
          '- `person` is the same label for what one person said within a part, where everybody had the same cups; where cups differed, each cup has a label of its own.',
        ]
      : []),
  ];
}

/** How to hold a package against its seal and its own numbers without a line of ours. */
export function checkLines(): string[] {
  return [
    '## Check it',
    '1. `sha256sum -c SHA256SUMS` says whether the files are whole.',
    '2. `npm run verify -- package.zip` in a copy of Oddglass computes the seal, the counts and all figures that follow from them anew, from these files alone. A package in a folder, or packed again with other files beside it, is read all the same.',
    '3. Or do it yourself, in any language.',
    '- A leaf of `seal.csv` is the text `{"body":…,"format":"oddglass-seal-1","kind":"…","nonce":"…"}` in canonical JSON (RFC 8785): keys in the order of the alphabet, no white space. The column `body` holds its part of that text as it is, so that the four can be put together as strings. Its hash is SHA-256 of a byte 00 and the text in UTF-8.',
    '- A node above is SHA-256 of a byte 01, the left hash and the right one, 65 bytes. `proof` has the hashes beside the way, a JSON array of hex from the leaf upwards; `leaf` is the place of the leaf from 0; `leaves` in `sessions.csv` is how many there are, opened and closed.',
    '- The way up (RFC 9162, section 2.1.3.2): begin with f = `leaf`, s = `leaves` - 1 and r = the hash of the leaf. For each hash p of `proof` in turn: if s is 0, the proof is too long and fails. If f is odd or f equals s, r becomes the node of p (left) and r (right), and then, as long as f is even and not 0, f and s are halved. Otherwise r becomes the node of r (left) and p (right). After that f and s are halved once, whole numbers rounded down. At the end s must be 0 and r the `root` of the session in `sessions.csv`, which those who came could note down before the first sip: its first twelve digits are the fingerprint.',
    '- Leaves are settings (one), samples (one for each of each part) and trays; as many leaves as there are trays stay closed, which say who sat where: `leaves` is 1 + samples + 2 × trays.',
    '- The numbers: answers of an order are no more than trays of it (`orders.csv`, `trays.csv`); answers and counted ones over orders are those of the test; p is the exact binomial of them.',
    '- Of a same-different test the pairs that differ are those of the orders AB and BA: hits are `pairs.different.said` of `pairs.different.answers`, false alarms `pairs.same.said` of `pairs.same.answers`. With one tray each p is Fisher’s exact one-sided p of these two; with trays in twos it is the exact binomial, at one half, of `test.unlike.named` of `test.unlike.twos`: twos whose two answers differ, and of them those that call the pair that differs so. Of fewer than ten people these are withheld and p is the upper end of a band (0.001, 0.01, 0.05, 0.1, 0.2, 0.5 or 1). d-prime and criterion k follow from false alarms = 2 Φ(-k / √2) and hits = Φ((d - k) / √2) + Φ((-d - k) / √2).',
    'What `npm run verify` does not check, since it needs more than what is told here:',
    ...notChecked().map((sentence) => `- ${sentence}`),
    '- Texts: sentences, caveats, notes of methods. The sums cover them.',
  ];
}
