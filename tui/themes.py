"""The looks of the screen. Every verdict colour reads against every ground it stands on; a test measures it."""

from __future__ import annotations

from textual.theme import Theme

VERDICTS = ("meets", "close", "refer", "measure", "short")


def _theme(
    name: str,
    *,
    dark: bool,
    ground: str,
    surface: str,
    panel: str,
    ink: str,
    quiet: str,
    brick: str,
    ember: str,
    caution: tuple[str, str],
    entry: str,
    cursor: tuple[str, str],
    verdicts: tuple[str, str, str, str, str],
) -> Theme:
    """One look. ground, surface, panel: backgrounds; ink, quiet: text; caution, cursor: text and its ground."""
    return Theme(
        name=name,
        primary=brick,
        secondary=quiet,
        accent=ember,
        foreground=ink,
        background=ground,
        surface=surface,
        panel=panel,
        warning=verdicts[1],
        error=verdicts[4],
        success=verdicts[0],
        dark=dark,
        variables={
            "quiet": quiet,
            "brick": brick,
            "ember": ember,
            "caution-ink": caution[0],
            "caution-ground": caution[1],
            "entry": entry,
            "cursor-ink": cursor[0],
            "cursor-ground": cursor[1],
            "block-cursor-foreground": cursor[0],
            "block-cursor-background": cursor[1],
            "block-cursor-text-style": "bold",
            "block-cursor-blurred-foreground": ink,
            "block-cursor-blurred-background": panel,
            "border": ember,
            "border-blurred": quiet,
            "scrollbar": quiet,
            "scrollbar-background": surface,
            "scrollbar-hover": brick,
            "scrollbar-active": ember,
            "scrollbar-background-hover": surface,
            "scrollbar-background-active": surface,
            **{f"verdict-{verdict}": colour for verdict, colour in zip(VERDICTS, verdicts, strict=True)},
        },
    )


SOOT = _theme(
    "soot",
    dark=True,
    ground="#171412",
    surface="#1f1b18",
    panel="#362d27",
    ink="#f3eadc",
    quiet="#b7a995",
    brick="#e08a64",
    ember="#f0b45a",
    caution=("#fff4e0", "#7a2a14"),
    entry="#2b2520",
    cursor=("#171412", "#f0b45a"),
    verdicts=("#9bd48a", "#f2c14e", "#cfb2f5", "#8cc8f2", "#ff8f7d"),
)

DAYLIGHT = _theme(
    "daylight",
    dark=False,
    ground="#ffffff",
    surface="#f6f2ea",
    panel="#e3dacb",
    ink="#000000",
    quiet="#463d33",
    brick="#782a10",
    ember="#653900",
    caution=("#ffffff", "#6e1200"),
    entry="#ffffff",
    cursor=("#ffffff", "#3b2200"),
    verdicts=("#084e19", "#5c3d00", "#55217f", "#09456f", "#8a0c05"),
)

# Okabe and Ito's palette, lightened to read on a dark ground: told apart with every common color blindness.
STEADY = _theme(
    "steady",
    dark=True,
    ground="#101418",
    surface="#171d23",
    panel="#2b343d",
    ink="#f2f4f5",
    quiet="#aab4bd",
    brick="#e69f00",
    ember="#f0e442",
    caution=("#000000", "#e69f00"),
    entry="#222b33",
    cursor=("#101418", "#f0e442"),
    verdicts=("#35c79d", "#f0e442", "#e2a3c6", "#7cc5f0", "#ff9248"),
)

BY_NAME = {theme.name: theme for theme in (SOOT, DAYLIGHT, STEADY)}
