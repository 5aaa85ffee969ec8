// Looks at pages as people do: in a browser at phone width, light and dark, and with axe-core for whoever reads otherwise.
//
//   node look_at.mjs TOOLS FOLDER   < lines of: NAME URL [PRESS]
//
// With PRESS the page's button is pressed first, by keyboard. Pictures go to FOLDER. Ends with 1 at any fault.
import { createRequire } from "node:module";
import { readFileSync } from "node:fs";
import { createInterface } from "node:readline";

const [, , tools, folder] = process.argv;
const require = createRequire(`${tools}/node/`);
const puppeteer = require("puppeteer-core");
const axe = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");
// WCAG 2.2, levels A and AA, and what axe counts as good practice.
const rules = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];
const widths = [320, 400];
// House rule; WCAG 2.2 asks for 24 (2.5.8), its level AAA for 44 (2.5.5).
const LEAST_TARGET = 44;

const browser = await puppeteer.launch({
  executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-dev-shm-usage", "--hide-scrollbars"],
});
const faults = [];
let looked = 0;

async function look(name, scheme, width, url, press) {
  const page = await browser.newPage();
  const refused = [];
  page.on("console", (message) => message.type() === "error" && refused.push(message.text()));
  await page.setViewport({ width, height: 800 });
  await page.emulateMediaFeatures([{ name: "prefers-color-scheme", value: scheme }]);
  await page.goto(url, { waitUntil: "load" });
  if (press) {
    // Pressed before in another light, a page has no button any more, or another one: that is looked at then.
    const button = await page.$("button[type=submit]");
    await button?.focus();
    if (button) await Promise.all([page.waitForNavigation({ waitUntil: "load" }), page.keyboard.press("Enter")]);
  }
  const found = await page.evaluate(() => {
    const shown = [...document.querySelectorAll("button, label.day, input[type=text]")];
    const box = (one) => one.getBoundingClientRect();
    return {
      wide: document.documentElement.scrollWidth > document.documentElement.clientWidth,
      styled: document.styleSheets.length === 1 && document.styleSheets[0].cssRules.length > 10,
      targets: shown.map((one) => [one.outerHTML.slice(0, 60), box(one).width, box(one).height]),
    };
  });
  const at = `${name}, ${scheme}, ${width} px`;
  if (found.wide) faults.push(`${at}: it is wider than the screen`);
  if (!found.styled) faults.push(`${at}: its stylesheet is missing`);
  for (const [what, across, high] of found.targets) {
    if (Math.min(across, high) < LEAST_TARGET) faults.push(`${at}: ${what} is ${across} by ${high} px`);
  }
  await page.evaluate(axe);
  const { violations } = await page.evaluate((values) => axe.run({ runOnly: { type: "tag", values } }), rules);
  for (const { id, help, nodes } of violations) faults.push(`${at}: ${id}: ${help}: ${nodes[0].html}`);
  // The browser itself tells of pages that are not 200.
  for (const said of refused.filter((said) => !said.includes("the server responded with a status"))) faults.push(`${at}: ${said}`);
  await page.screenshot({ path: `${folder}/${name}-${scheme}-${width}.png`, fullPage: true });
  await page.close();
  looked += 1;
}

for await (const line of createInterface({ input: process.stdin })) {
  const [name, url, press] = line.trim().split(/\s+/);
  for (const scheme of ["light", "dark"]) {
    for (const width of press ? [widths[1]] : widths) await look(name, scheme, width, url, press);
  }
}
await browser.close();
faults.forEach((fault) => console.error(`FAILED: ${fault}`));
console.log(`${looked} looks, ${faults.length} faults`);
process.exit(faults.length > 0 || looked === 0 ? 1 : 0);
