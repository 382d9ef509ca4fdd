// The report and the served page in Debian's chromium: at the widths of a phone, a tablet and a desk, in light and dark,
// and printed. Nothing may be said on the console, asked of the network, found by axe-core, or be wider than the window;
// Tab must reach everything. Pictures of all go into the folder named first; the settings come from run.sh.
//
//     node check.mjs OUT CHROMIUM NAME=ADDRESS...

import { mkdirSync } from 'node:fs';
import { chromium } from 'playwright-core';
import { listen, sideways, unreached, violations } from './checks.mjs';
import { round } from './round.mjs';

const WIDTHS = [360, 820, 1280];
const SCHEMES = ['light', 'dark'];

const [out, executablePath, ...named] = process.argv.slice(2);
const places = Object.fromEntries(named.map((word) => [word.slice(0, word.indexOf('=')), word.slice(word.indexOf('=') + 1)]));
mkdirSync(out, { recursive: true });

const browser = await chromium.launch({ executablePath, args: ['--no-sandbox'] });
const wrong = [];

/** Addresses of all pages by name: the reports, and what the served page shows once it was worked with. */
async function pages() {
  const served = places.write;
  const held = await round(browser, served, out);
  const at = (place) => `${served}${place}`;
  return {
    report: places.report,
    'report-us': places.us,
    overview: served,
    next: at('next'),
    'next-answer': at('next?cold_hours=30&room_temp_c=23&target_rise=2.3'),
    'next-answer-us': `${places.serve_us}next?cold_hours=30&room_temp_c=73&target_rise=2.3`,
    'next-refused': at('next?cold_hours=long'),
    sheet: at('sheet'),
    ...held,
    record: at('record'),
    'record-new': at('record/new'),
    'record-us': `${places.serve_us}record/new`,
    'read-only': `${places.read}record`,
    nothing: at('nothing'),
  };
}

async function look(name, url, width, scheme) {
  const context = await browser.newContext({ viewport: { width, height: 800 }, colorScheme: scheme, reducedMotion: 'reduce' });
  const page = await context.newPage();
  const host = new URL(url).origin;
  const heard = listen(page, (asked) => (url.startsWith('file:') ? asked === url : asked.startsWith(host)));
  await page.goto(url);
  const found = [...await sideways(page)];
  await page.screenshot({ path: `${out}/${name}-${width}-${scheme}.png`, fullPage: true });
  found.push(...await violations(page, true));
  // Widths change what wraps, not what the keyboard reaches; the narrowest has everything.
  if (width === WIDTHS[0]) {
    found.push(...await violations(page, false), ...await sideways(page));
    if (scheme === SCHEMES[0]) found.push(...await unreached(page));
  }
  if (width === WIDTHS[1] && scheme === SCHEMES[0]) await print(page, name, found);
  // A page that is not there is said to be so on the console, too.
  const expected = (h) => name === 'nothing' && h.includes('404');
  found.push(...heard.filter((h) => !expected(h)));
  wrong.push(...found.map((f) => `${name}, ${width} px, ${scheme}: ${f}`));
  await context.close();
}

async function print(page, name, found) {
  await page.evaluate(() => document.querySelectorAll('details').forEach((d) => { d.open = false; }));
  await page.emulateMedia({ media: 'print' });
  found.push(...(await violations(page, true)).map((v) => `print: ${v}`));
  await page.pdf({ path: `${out}/${name}.pdf`, format: 'A4' });
  await page.screenshot({ path: `${out}/${name}-print.png`, fullPage: true });
  await page.emulateMedia({ media: 'screen' });
}

const all = Object.entries(await pages());
const tasks = all.flatMap(([name, url]) => WIDTHS.flatMap((width) => SCHEMES.map((scheme) => [name, url, width, scheme])));
const count = tasks.length;
const worker = async () => {
  for (let task = tasks.shift(); task; task = tasks.shift()) await look(...task);
};
await Promise.all([worker(), worker()]);
await browser.close();
wrong.forEach((w) => console.error(w));
console.log(`${all.length} pages, ${count} windows, ${wrong.length} faults; pictures in ${out}`);
process.exit(wrong.length === 0 ? 0 : 1);
