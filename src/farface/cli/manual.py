"""The command that opens the manual, or finds words in it."""

from typing import Annotated

import typer

from farface.cli.options import Json

group = typer.Typer()


@group.command()
def manual(
    words: Annotated[list[str] | None, typer.Argument(help="words to find; none opens the manual")] = None,
    path: Annotated[bool, typer.Option("--path", help="only tell where the manual lies")] = False,
    as_json: Json = False,
) -> None:
    """Open the manual that came with farface in the browser, without a network; or find words in it.

    Example: farface manual absorption length
    """
    from farface.app.manual import find_in_manual, manual_page
    from farface.cli.show import show

    if words:
        show(find_in_manual(tuple(words)), as_json=as_json)
        return
    page = manual_page()
    typer.echo(str(page))
    if not path:
        import webbrowser

        webbrowser.open(page.as_uri())
