"""The engine for NVIDIA cards, through CUDA; needs the extra ``burnin[cuda]``."""
