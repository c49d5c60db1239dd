"""Where the project and its demo cases lie."""

from __future__ import annotations

from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
DEMO_CASES = sorted((ROOT / "demo_cases").glob("*.json"))
