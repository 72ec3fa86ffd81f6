"""What a class of card must show: the format of `profiles/*.toml`, how one is found, read and
explained where it is wrong. Start with `model.py`.

It knows the core alone: settings of stages and guards come from their seams (`burnin.core.seams`).
"""
