"""The command line: reads arguments, prints, sets the exit code.  The only printer.

Exit: 0 no errors, 1 errors, 2 usage.  Heavy parts are imported inside each command,
so that ``--help`` stays quick.
"""

from __future__ import annotations

import argparse
import sys

from platecard.cli.shared import JSON, TEXT

TYPE_CHECKING = False
if TYPE_CHECKING:  # for type checkers alone, so that the help imports none of it
    from collections.abc import Callable, Iterator
    from types import ModuleType
    from typing import NoReturn


# What `platecard schema` describes beside the answers of commands.
_FILES = ("dish", "kitchen", "recipe", "pantry", "plates")
_RENAMED = ("product", "recipe", "equipment", "plate", "station")


# One example of each command, in the demo kitchen.
EXAMPLES = {
    "check": "platecard check char-cucumber",
    "files": "platecard files specs",
    "build": "platecard build --recipes",
    "allergens": "platecard allergens char-cucumber --law us --why milk",
    "guest": "platecard guest char-cucumber --avoid wheat,rye",
    "acknowledge": "platecard acknowledge char-cucumber",
    "prep": "platecard prep --covers char-cucumber=24 roe-deer=18",
    "cost": "platecard cost roe-deer",
    "scale": "platecard scale dill-oil --to 2.4 kg",
    "mat": "platecard mat char-cucumber --out char-mat.pdf",
    "steps": "platecard steps char-cucumber --out char-steps.svg",
    "fire": "platecard fire roe-deer=2 short-rib --at 20:15",
    "cautions": "platecard cautions char-cucumber",
    "label": "platecard label day-bread",
    "uses": "platecard uses butter",
    "rename": "platecard rename recipe dill-oil green-oil",
    "compare": "platecard compare char-cucumber --was 3",
    "schema": "platecard schema allergens",
    "new": "platecard new lamb-pea",
}


def run(arguments: list[str]) -> int:
    """Run one command line."""
    parser = _parser()
    options = parser.parse_args(arguments)
    if options.command is None:
        parser.print_help()
        return 2
    from platecard.files.reading import UsageError

    for stream in (sys.stdout, sys.stderr):
        # A terminal that lacks a letter gets it spelt out.
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
    try:
        return _command(options.command)(options)
    except KeyboardInterrupt:
        print("platecard: interrupted", file=sys.stderr)
        return 1
    except UsageError as exc:
        print(f"platecard: {exc}", file=sys.stderr)
        return 2
    except ValueError as exc:
        from platecard.drawing.fonts import INSTALLED_BY, NotDrawable

        if not isinstance(exc, NotDrawable):
            raise
        print(f"platecard: this cannot be drawn: {exc}; install the fonts: {INSTALLED_BY}", file=sys.stderr)
        return 1


def _command(name: str) -> Callable[[argparse.Namespace], int]:
    """The function of a command, from the module that has it."""
    module: ModuleType
    if name in ("allergens", "guest"):
        from platecard.cli import allergy

        module = allergy
    elif name in ("prep", "cost", "scale", "fire", "cautions"):
        from platecard.cli import service

        module = service
    elif name in ("label", "uses", "rename"):
        from platecard.cli import kitchen

        module = kitchen
    elif name in ("mat", "steps", "compare"):
        from platecard.cli import pictures

        module = pictures
    else:
        from platecard.cli import dishes

        module = dishes
    command: Callable[[argparse.Namespace], int] = getattr(module, name)
    return command


class _Parser(argparse.ArgumentParser):
    """A parser whose complaints say in plain words what is wrong and what to do."""

    def error(self, message: str) -> NoReturn:
        said = _reworded(message, self)
        self.exit(2, f"{self.prog}: {said}\n{self.prog} --help shows all that it takes\n")


def _reworded(message: str, parser: argparse.ArgumentParser) -> str:
    """A complaint of argparse in plain words."""
    import re

    from platecard.diagnostics import did_you_mean

    if match := re.fullmatch(r"unrecognized arguments: (.*)", message):
        first = match[1].split()[0].partition("=")[0]
        if first.startswith("-"):
            hint = did_you_mean(first, dict.fromkeys(_options(parser)))
            return f"there is no option {first} here" + (f"; {hint}" if hint else "; take it out")
        return f"'{match[1]}' is more than this command takes; take it out"
    if match := re.fullmatch(r"argument (\S+): invalid choice: '?(.*?)'? \(choose from (.*)\)", message):
        known = re.findall(r"[\w-]+", match[3])
        what = "command" if match[1] == "COMMAND" else match[1]
        hint = did_you_mean(match[2], known) or f"write one of: {', '.join(known)}"
        return f"there is no {what} '{match[2]}'; {hint}"
    if match := re.fullmatch(r"the following arguments are required: (.*)", message):
        return f"{match[1]} is missing; add it" if "," not in match[1] else f"{match[1]} are missing; add them"
    if match := re.fullmatch(r"argument (\S+): invalid int value: '(.*)'", message):
        return f"{match[1]} {match[2]}: write a whole number"
    if match := re.fullmatch(r"argument (\S+): expected (?:one|at least one) argument", message):
        return f"nothing stands behind {match[1]}; write its value after it"
    return message


def _options(parser: argparse.ArgumentParser) -> Iterator[str]:
    """The options of a parser and of its commands: that of the program itself complains of one that is not known."""
    for action in parser._actions:
        yield from (option for option in action.option_strings if option.startswith("--"))
        if isinstance(action, argparse._SubParsersAction):
            for command in action.choices.values():
                yield from _options(command)


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="platecard", description="A plate spec in; a true-scale diagram, a pass card and derived allergens out."
    )
    parser.add_argument("--version", action="store_true", help="print the version and stop")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND")

    def command(
        name: str, help: str, *, paths: bool = False, dish: bool = False, reports: bool = True
    ) -> argparse.ArgumentParser:
        one = commands.add_parser(
            name, help=help, description=help[0].upper() + help[1:] + ".", epilog=f"example: {EXAMPLES[name]}"
        )
        if paths:
            one.add_argument(
                "paths", nargs="*", metavar="PATH", help="spec files, folders or dish names (default: specs/)"
            )
        if dish:
            one.add_argument("dish", metavar="DISH", help="a spec file, or the name of a dish in specs/")
        if reports:
            one.add_argument(
                "--format", choices=(TEXT, JSON), default=TEXT, help="text for people, json for other programs"
            )
            one.add_argument("--kitchen", metavar="DIR", help="the kitchen's library (default: the nearest shared/)")
        return one

    one = command(
        "check",
        "check dishes: print every problem, and which issued documents are out of date",
        paths=True,
    )
    one.add_argument(
        "--out", metavar="DIR", default="output", help="where the documents were issued to (default: output/)"
    )
    command("files", "say how every file under specs/ and shared/ is read", paths=True)
    one = command("build", "write the documents of every dish", paths=True)
    one.add_argument("--out", metavar="DIR", default="output", help="where they go (default: output/)")
    one.add_argument("--draft", action="store_true", help="draw dishes with errors too, with DRAFT on every page")
    one.add_argument(
        "--recipes",
        action=argparse.BooleanOptionalAction,
        help="write the recipe cards too, or stop writing them (default: as in the last build)",
    )
    one.add_argument("--anew", action="store_true", help="redraw even what is up to date")
    one.add_argument("--jobs", metavar="N", type=int, default=1, help="draw with N processes at once (default: 1)")
    one = command("allergens", "say what a dish has to declare under each law, and why", dish=True)
    one.add_argument("--law", metavar="NAME", help="one law only, in force here or not")
    one.add_argument("--why", metavar="ALLERGEN", help="explain in plain sentences where one allergen comes from")
    one = command("guest", "answer a guest: serve as it is, serve changed, or do not serve")
    one.add_argument(
        "dish", metavar="DISH", nargs="?", help="a spec file, or the name of a dish in specs/ (default: every dish)"
    )
    one.add_argument("--avoid", metavar="LIST", required=True, help="what the guest must avoid, as in egg,fish")
    one.add_argument(
        "--eats",
        metavar="LIST",
        default="",
        help="what the guest does eat, where a word leaves it in doubt: --avoid nuts --eats peanut",
    )
    one.add_argument("--out", metavar="DIR", help="write the changed plate of DISH there: its diagram and its card")
    one.add_argument("--card", metavar="FILE", help="write the card of the changed plate of DISH to this file")
    one = command("acknowledge", "print the allergens declared now, as the record to write into the spec", dish=True)
    one.add_argument(
        "--date",
        metavar="YYYY-MM-DD",
        help="the date of the new revision, if the allergens have changed (default: today)",
    )
    one = command("prep", "list what to make and what to order for the covers booked", reports=False)
    one.add_argument("--covers", metavar="DISH=N", nargs="+", action="extend", default=[], help="covers of each dish")
    one.add_argument("--covers-file", metavar="FILE", help="a file of DISH: N lines")
    one.add_argument("--date", metavar="YYYY-MM-DD", help="the day of service, to put dates to the days before it")
    one.add_argument("--pdf", metavar="FILE", help="write both lists to this file as well")
    one.add_argument(
        "--format",
        choices=(TEXT, JSON, "csv"),
        default=TEXT,
        help="text for people, json for other programs, csv for spreadsheets",
    )
    one.add_argument("--kitchen", metavar="DIR", help="the kitchen's library (default: the nearest shared/)")
    command("cost", "say what a plate costs, part by part, as far as the pantry gives prices", dish=True)
    one = command("scale", "scale a recipe to the amount wanted", reports=True)
    one.add_argument("recipe", metavar="RECIPE", nargs="?", help="a recipe, by its file name in shared/recipes")
    one.add_argument(
        "--to", metavar=("AMOUNT", "UNIT"), nargs="+", required=True, help="the amount wanted, as in 2.4 kg or 2.4kg"
    )
    for name, said in (
        ("mat", "draw the plate at true size on the kitchen's paper, to practise on"),
        ("steps", "draw the plating sequence, one small picture for each step"),
    ):
        one = command(name, said, dish=True)
        one.add_argument(
            "--out",
            metavar="FILE",
            help=f"where it goes (default: DISH-{name}.pdf here)"
            + ("; a name in .svg gets SVG" if name == "steps" else ""),
        )
        if name == "mat":
            one.add_argument(
                "--paper", metavar="SIZE", help="the paper: A0 to A5, Letter, Legal or Tabloid (default: the kitchen's)"
            )
    one = command("fire", "say when each finishing step starts, worked backwards from the plate", reports=False)
    one.add_argument("dishes", nargs="+", metavar="DISH[=N]", help="dishes of one table, with how many plates of each")
    one.add_argument("--at", metavar="HH:MM", help="when the plates leave the pass")
    one.add_argument("--called", metavar="HH:MM", help="when the table is fired, to learn when the plates leave")
    one.add_argument(
        "--format",
        choices=(TEXT, JSON, "svg"),
        default=TEXT,
        help="text for people, json for other programs, svg for a picture",
    )
    one.add_argument("--kitchen", metavar="DIR", help="the kitchen's library (default: the nearest shared/)")
    command(
        "cautions",
        "list the cautions of a dish: temperatures, raw and lightly cooked food, holding, cooling",
        dish=True,
    )
    one = command(
        "label", "say how a product's label was read, part by part, and what settles the words that were not understood"
    )
    one.add_argument("product", metavar="PRODUCT", help="a product, by its key in the pantry")
    one = command("uses", "say which dishes use something, through which recipes, and how much of it is on a plate")
    one.add_argument("name", metavar="NAME", help="a product, a recipe, an ingredient, a piece of equipment or a plate")
    one = command("rename", "give something of the kitchen a new key, in every file that names it, or in none")
    one.add_argument("kind", metavar="KIND", choices=_RENAMED, help=f"what it is: {', '.join(_RENAMED)}")
    one.add_argument("old", metavar="OLD", help="its key")
    one.add_argument("new", metavar="NEW", help="the key that it gets")
    one.add_argument("--write", action="store_true", help="change the files (without it, only say what would change)")
    one = command("compare", "say what changed between two revisions of a dish, allergens first")
    one.add_argument("old", metavar="DISH", help="a spec file, or the name of a dish in specs/")
    one.add_argument(
        "new",
        metavar="NEW",
        nargs="?",
        help="another spec to compare it with; or name an earlier copy of DISH with --was or --as-of",
    )
    one.add_argument("--was", metavar="N", type=int, help="compare with the last copy of revision N in version control")
    one.add_argument("--as-of", metavar="YYYY-MM-DD", help="compare with the copy of that day in version control")
    one.add_argument("--out", metavar="FILE", help="draw the two plates side by side into this .svg or .pdf as well")
    answers = tuple(commands.choices)  # every command above has a --format json
    one = command("schema", "print the JSON Schema of a file, for editors, or of a command's JSON", reports=False)
    one.add_argument(
        "kind",
        nargs="?",
        default="dish",
        choices=(*_FILES, *answers),
        metavar="KIND",
        help=f"a file of the kitchen: {', '.join(_FILES)} (default: dish);"
        f" or the command whose --format json it describes: {', '.join(answers)}",
    )
    one = command("new", "write a commented spec to start from, or a whole small kitchen", reports=False)
    one.add_argument(
        "dish",
        metavar="DISH",
        nargs="?",
        help="the name of the dish, or the path of its spec (default: a small kitchen with one dish, in this folder)",
    )
    return parser
