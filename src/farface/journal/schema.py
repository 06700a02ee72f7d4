"""Describe the tables of the journal; only the migrations create and change them."""

from typing import Any

from sqlalchemy import JSON, BigInteger, ForeignKey, Index
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column


class Base(DeclarativeBase):
    """Join the tables of one journal."""


class RecordRow(Base):
    """Map one record; a unique ``supersedes`` keeps corrections a chain and never a fork."""

    __tablename__ = "record"
    __table_args__ = (Index("ix_record_kind_number", "kind", "number"),)

    id: Mapped[str] = mapped_column(primary_key=True)
    number: Mapped[int] = mapped_column(unique=True)
    kind: Mapped[str] = mapped_column(index=True)
    at_utc: Mapped[str]
    program_version: Mapped[str]
    seed: Mapped[int | None] = mapped_column(BigInteger)
    title: Mapped[str]
    body: Mapped[dict[str, Any]] = mapped_column(JSON)
    inputs: Mapped[list[dict[str, str]]] = mapped_column(JSON)
    supersedes: Mapped[str | None] = mapped_column(ForeignKey("record.id"), unique=True)
    reason: Mapped[str]
    withdrawn: Mapped[bool]
    sha256: Mapped[str]


class FileRow(Base):
    """Map one stored file, which its content names."""

    __tablename__ = "file"

    sha256: Mapped[str] = mapped_column(primary_key=True)
    name: Mapped[str]
    bytes: Mapped[int] = mapped_column(BigInteger)
    kind: Mapped[str]
    at_utc: Mapped[str]
