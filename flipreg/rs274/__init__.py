"""The RS-274/NGC language after NISTIR 6556: read without loss, interpreted into motions."""
