"""Looking after drums and batches: visits, stages, moves, shutting and opening."""
