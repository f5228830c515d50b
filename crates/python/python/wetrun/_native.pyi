VERSION: str

def check(
    texts: list[bytes],
    names: list[str],
    storm: str | None,
    tanks: str | None,
    spill_rains: bool,
    workers: int,
) -> list[tuple[bool, str]]: ...
