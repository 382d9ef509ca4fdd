// A whole round on a phone without any script: a sheet is handed over and kept, a plan asked for and kept, its batch and a
// reading written down. Gives back the addresses of what came of it.

import { ok } from 'node:assert/strict';

const HEADINGS = 'batch_id,date,flour_g,water_g,yeast_g,yeast_type,rise,bulk_hours,room_temp_c,kitchen';
const SOUND = `${HEADINGS}\nround-1,2025-01-01,1000,620,2,instant,1.8,3,22,hall\nround-2,2025-01-02,1000,620,lots,instant,1.8,3,22,hall\n`;
const OPEN = 'date,flour_g,water_g,yeast_g,yeast_type,Warm spot\n3/4/2026,1000,620,2,instant,25\n5/4/2026,1000,620,2,instant,26\n';

export async function round(browser, served, out) {
  const context = await browser.newContext({ viewport: { width: 360, height: 740 }, javaScriptEnabled: false, hasTouch: true });
  const page = await context.newPage();
  const says = async (text) => ok((await page.content()).includes(text), `'${text}' is not on ${page.url()}`);
  const press = (name) => page.getByRole('button', { name }).click();
  const handOver = async (name, text) => {
    await page.goto(`${served}sheet`);
    await page.setInputFiles('#sheet', { name, mimeType: 'text/csv', buffer: Buffer.from(text) });
    await press('Look at it');
  };

  await handOver('open.csv', OPEN);
  await says('Answer this first');
  const open = page.url();
  await handOver('found.csv', SOUND);
  await says('Nothing is kept yet');
  const found = page.url();
  await handOver('round.csv', SOUND);
  await press('Keep it');
  await says('Kept.');
  const kept = page.url();

  await page.goto(served);
  await page.getByRole('link', { name: 'Next batch' }).click();
  await page.getByLabel('Pieces in the fridge: how long').fill('26');
  await press('Work it out');
  await says('Weigh');
  await press('Keep this plan');
  await says('is kept');
  await page.getByRole('link', { name: /Mixed by plan/ }).first().click();
  await page.getByLabel('The start of mixing').fill('2026-11-20T08:30');
  await page.getByLabel('Dough measured just after mixing').fill('23.5');
  await page.getByLabel('Room at mixing').fill('22');
  await page.screenshot({ path: `${out}/round-form.png`, fullPage: true });
  await press('Write it down');
  await says('The batch is in the logbook');
  await page.getByLabel('Hours since the end of mixing').fill('2');
  await page.getByLabel('Volume now over volume').fill('1.3');
  await press('Write the reading down');
  await says('The reading is in the logbook');
  await page.getByLabel('The verdict at the oven').selectOption('ready');
  await press('Write it down');
  await says('What you wrote is in the logbook');
  const batch = page.url();
  await context.close();
  return { 'sheet-open': open, 'sheet-found': found, 'sheet-kept': kept, batch };
}
