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
