"""What comes out: measuring, sharing, handing out, what was lost or left."""
