"""What is asked of every page in a browser."""

from __future__ import annotations

import json

from playwright.sync_api import Page


def sideways(page: Page) -> int:
    """Pixels by which a page is wider than the window."""
    wide: int = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    return wide


def axe_faults(page: Page, axe: str) -> list[str]:
    """What axe-core finds against WCAG 2.2 AA and good practice: rule, how bad, and where."""
    page.evaluate(axe)
    found = json.loads(page.evaluate("axe.run().then(result => JSON.stringify(result))"))
    return [
        f"{rule['id']} ({rule['impact']}): {node['html'][:120]}"
        for rule in found["violations"]
        for node in rule["nodes"]
    ]


def least_contrast(page: Page) -> float:
    """The lowest contrast ratio of any text with its ground."""
    ratio: float = page.evaluate(LEAST_CONTRAST)
    return ratio


def small_targets(page: Page) -> list[str]:
    """What is to be tapped and is less than 44 pixels high."""
    found: list[str] = page.evaluate(SMALL_TARGETS)
    return found


# Relative luminance and contrast ratio as WCAG 2.2 defines them.
LEAST_CONTRAST = """() => {
  const light = (colour) => {
    const [r, g, b] = colour.match(/[0-9.]+/g).slice(0, 3).map(Number).map((part) => {
      const share = part / 255;
      return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
    });
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const ground = (element) => {
    const colour = getComputedStyle(element).backgroundColor;
    return colour === "rgba(0, 0, 0, 0)" && element.parentElement ? ground(element.parentElement) : colour;
  };
  const ratios = [];
  for (const element of document.body.querySelectorAll("*")) {
    if (![...element.childNodes].some((node) => node.nodeType === 3 && node.textContent.trim())) continue;
    const [one, two] = [light(getComputedStyle(element).color), light(ground(element))];
    ratios.push((Math.max(one, two) + 0.05) / (Math.min(one, two) + 0.05));
  }
  return Math.min(...ratios);
}"""

# A tap counts where it lands: a link may answer in the whole of its row.
SMALL_TARGETS = """() => {
  const targets = "a, button, summary, input:not([type=hidden]), select";
  const small = [];
  for (const target of document.querySelectorAll(targets)) {
    if (!target.checkVisibility() || target.disabled) continue;
    target.scrollIntoView({block: "center"});
    const box = target.getClientRects()[0];
    const [x, y] = [box.left + box.width / 2, box.top + box.height / 2];
    const answers = (dy) => {
      const hit = document.elementFromPoint(x, y + dy);
      return hit && hit.closest(targets) === target;
    };
    let [up, down] = [0, 0];
    while (up < 60 && answers(-up - 1)) up += 1;
    while (down < 60 && answers(down + 1)) down += 1;
    if (up + down + 1 < 44) small.push(`${target.outerHTML.slice(0, 80)}: ${up + down + 1} px`);
  }
  return small;
}"""
