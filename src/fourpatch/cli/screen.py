"""An answer on the terminal: every block as text, whatever was asked."""

from collections.abc import Sequence
from dataclasses import replace

from fourpatch.answers.answer import Answer
from fourpatch.cli.output import write_heading, write_table, write_text
from fourpatch.picture.blocks import Block, Changes, Heading, Picture, Sentence, Table


def write_answer(answer: Answer) -> None:
    """Write an answer; its title stands over its first table if that has none."""
    first, *rest = answer.blocks
    if isinstance(first, Table) and not first.title:
        write_blocks([replace(first, title=answer.title), *rest])
    elif isinstance(first, Heading):
        write_blocks(answer.blocks)  # each part names what it is about
    else:
        write_text(answer.title)
        write_blocks(answer.blocks)


def write_blocks(blocks: Sequence[Block]) -> None:
    """Write blocks; pictures are for files. A heading stands over its table."""
    over = ""
    for block in blocks:
        if over and not (isinstance(block, Table) and not block.title):
            write_heading(over)
            over = ""
        match block:
            case Sentence():
                write_text(block.whole())
            case Heading(text):
                over = text
            case Table():
                write_table(block.heads, block.rows, title=block.title or over)
                over = ""
            case Changes():
                table = block.as_table()
                write_table(table.heads, table.rows, title=table.title)
            case Picture():
                pass
