// What must hold of one page in one window: each check gives back what is wrong, in words.

import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';

const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
// WCAG 2.2 A and AA, and what axe-core counts as good practice beside it.
const TAGS = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];

/** Hears what the browser says and asks for; call before the page is opened. */
export function listen(page, own) {
  const heard = [];
  page.on('console', (m) => ['error', 'warning'].includes(m.type()) && heard.push(`console: ${m.text()}`));
  page.on('pageerror', (e) => heard.push(`error: ${e.message}`));
  page.on('request', (r) => own(r.url()) || heard.push(`outside request: ${r.url()}`));
  page.on('requestfailed', (r) => heard.push(`request failed: ${r.url()}`));
  return heard;
}

/** Violations that axe-core finds, everything folded open or not. */
export async function violations(page, folded) {
  await page.evaluate((open) => document.querySelectorAll('details').forEach((d) => { d.open = open; }), !folded);
  await page.evaluate(AXE);
  const found = await page.evaluate((tags) => axe.run({ runOnly: tags, resultTypes: ['violations'] }), TAGS);
  return found.violations.map((v) => `axe ${v.id}: ${v.help}: ${v.nodes.length}, such as ${v.nodes[0].html.slice(0, 160)} `
    + v.nodes[0].failureSummary.replace(/\s+/g, ' '));
}

/** Whether the page is wider than the window. */
export async function sideways(page) {
  const [page_px, window_px] = await page.evaluate(() => [document.documentElement.scrollWidth, window.innerWidth]);
  return page_px > window_px ? [`${page_px} px wide in a window of ${window_px}`] : [];
}

/** Links, fields and other parts that Tab does not reach, or on which the focus does not show. */
export async function unreached(page) {
  const count = await page.evaluate(() => {
    const all = 'a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex="0"]';
    const wanted = [...document.querySelectorAll(all)].filter((e) => e.checkVisibility());
    // Of the choices of one question Tab reaches one; the arrow keys reach the rest.
    const names = new Set();
    const each = wanted.filter((e) => e.type !== 'radio' || (!names.has(e.name) && names.add(e.name)));
    window.wanted = new Set(each);
    document.activeElement.blur();
    return each.length;
  });
  const wrong = [];
  // A field of a date has a stop for each of its parts.
  for (let i = 0; i < count + 20; i += 1) {
    await page.keyboard.press('Tab');
    const hidden = await page.evaluate(() => {
      const at = document.activeElement;
      const radio = (e) => e.type === 'radio' && e.name === at.name;
      [...window.wanted].filter((e) => e === at || radio(e)).forEach((e) => window.wanted.delete(e));
      const style = getComputedStyle(at);
      return at !== document.body && style.outlineStyle === 'none' && style.boxShadow === 'none' ? at.outerHTML.slice(0, 120) : null;
    });
    if (hidden) wrong.push(`the focus does not show on ${hidden}`);
  }
  const left = await page.evaluate(() => [...window.wanted].map((e) => e.outerHTML.slice(0, 120)));
  return wrong.concat(left.map((e) => `Tab does not reach ${e}`));
}
